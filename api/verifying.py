"""`benchtally verify`: a data folder, a database by URL, or one exported record, line by line."""

from collections.abc import Iterator
from pathlib import Path

from daq.records.database import FILE_NAME
from daq.records.errors import AlteredError
from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, Keys, public_keys
from daq.records.verify import Verdict, verify
from daq.records.verify_store import verify_store

Line = tuple[str, bool]


def verified(data: Path, key: Path | None, url: str | None = None) -> Iterator[Line]:
    """Lines with whether what they speak of is whole.

    data: a data folder, its database, or a record exported as JSON. key: the public key; without
    it the one in the data folder is taken, and the signature of an export is left unlooked at,
    which a line says. Raises RecordError.
    """
    if data.is_file() and data.name != FILE_NAME:
        yield from _export(data, None if key is None else public_keys(key))
        return
    folder = data.parent if data.name == FILE_NAME else data
    with Records.open_to_read(folder, url) as records:
        keys = public_keys(folder / PUBLIC_FILE if key is None else key)
        for fault in records.damage():
            yield f"the database is damaged: {fault}", False
        for verdict in verify(records, keys):
            yield _line(verdict), verdict.whole
        try:
            beside = verify_store(records, keys)
        except AlteredError as error:
            yield str(error), False
            return
        for finding in beside:
            yield finding.text, False


def _export(file: Path, keys: Keys | None) -> Iterator[Line]:
    from daq.records.exported import verify_export

    try:
        verdict = verify_export(file.read_bytes(), keys)
    except (AlteredError, OSError) as error:
        yield f"{file}: {error}", False
        return
    yield _line(verdict), verdict.whole
    if keys is None:
        said = "the signature was not looked at: give the bench's public key with --key"
        yield f"{file}: {said} ({PUBLIC_FILE} in its data folder)", True


def _line(verdict: Verdict) -> str:
    name = f"job {verdict.number or '?'} ({verdict.job})"
    if verdict.whole:
        closed = "closed" if verdict.signed else "open"
        return f"{name}: whole, {verdict.entries} entries, {closed}, hash {verdict.hash}"
    return f"{name}: NOT whole: " + "; ".join(finding.text for finding in verdict.findings)

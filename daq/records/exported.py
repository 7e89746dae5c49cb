"""Whether an exported record is the one that was signed: from its file and the public key alone."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn

from daq.head.record import GENESIS_HASH, Entry, EntryKind, Record, Seal, is_whole
from daq.head.view import record_view
from daq.records.chain import Fault, Finding
from daq.records.errors import AlteredError
from daq.records.signing import Keys
from daq.records.verify import Verdict, seal_findings

FINDINGS_MOST = 20
_ENTRY_KEYS = {"number", "id", "at", "kind", "body", "previous", "hash"}


def verify_export(data: bytes, keys: Keys | None) -> Verdict:
    """The verdict on a record exported as JSON.

    keys: the public ones that may have signed; None leaves the signature unlooked at. Beside the
    chain and its seal everything that is shown (values, decisions, notes) is worked out anew from
    the entries and compared. Raises AlteredError for what is no exported record at all.
    """
    shown = _parsed(data)
    job = str(shown["job"].get("id"))
    entries, findings = _entries(job, shown["entries"])
    head = shown["head"]
    seal = None
    if isinstance(head.get("key"), str) and isinstance(head.get("signature"), str):
        seal = Seal(head["key"], head["signature"])
    if not entries:
        findings.append(Finding(job, None, Fault.CUT_OFF, "the record holds no entry"))
    elif not findings:
        findings += _head(job, head, entries)
        findings += _worked_out_anew(job, shown, Record(tuple(entries), seal))
    if keys is not None:
        findings += seal_findings(job, entries, seal, keys)
    return Verdict(
        job=job,
        number=str(shown["job"].get("number", "")),
        entries=len(entries),
        hash=entries[-1].hash if entries else GENESIS_HASH,
        signed=bool(entries) and entries[-1].kind is EntryKind.SIGNED,
        findings=tuple(findings[:FINDINGS_MOST]),
    )


def _parsed(data: bytes) -> dict[str, Any]:
    try:
        shown = json.loads(data.decode("utf-8"), object_pairs_hook=_each_once, parse_constant=_no)
    except UnicodeDecodeError as error:
        raise AlteredError(
            f"The file is not UTF-8 from byte {error.start} on: it was altered, or is no record."
        ) from None
    except json.JSONDecodeError as error:
        raise AlteredError(
            f"The file is no JSON in line {error.lineno}, column {error.colno} ({error.msg}): it "
            "was altered, or is no record."
        ) from None
    except (ValueError, RecursionError) as error:
        raise AlteredError(f"The file was altered, or is no record: {error}.") from None
    parts = {"job": dict, "entries": list, "head": dict}
    for name, kind in parts.items():
        if not isinstance(shown, dict) or not isinstance(shown.get(name), kind):
            raise AlteredError(
                f"The file holds no {name!r} where a record has it: it was altered, or is no "
                "record exported as JSON."
            )
    return dict(shown)


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a key stands twice in one object")
    return found


def _no(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _entries(job: str, shown: list[Any]) -> tuple[list[Entry], list[Finding]]:
    """The entries up to the first that is not as it was written, and what is wrong there."""
    entries: list[Entry] = []
    previous = GENESIS_HASH
    for expected, each in enumerate(shown, 1):
        entry = _entry(job, each)
        fault = Fault.ALTERED
        if entry is not None and is_whole(entry, previous=entry.previous):
            if entry.number == expected and entry.previous == previous:
                entries.append(entry)
                previous = entry.hash
                continue
            fault = Fault.MISSING if entry.number > expected else Fault.REORDERED
        text = {
            Fault.ALTERED: f"entry {expected} was altered: its hash is of something else",
            Fault.MISSING: f"entry {expected} is missing",
            Fault.REORDERED: f"entry {expected} does not follow the one before it",
        }[fault]
        return entries, [Finding(job, expected, fault, text)]
    return entries, []


def _entry(job: str, shown: Any) -> Entry | None:
    if not isinstance(shown, dict) or set(shown) != _ENTRY_KEYS:
        return None
    number, body = shown["number"], shown["body"]
    texts = [shown[name] for name in ("id", "at", "kind", "previous", "hash")]
    if type(number) is not int or not isinstance(body, dict):
        return None
    if not all(isinstance(text, str) for text in texts) or shown["kind"] not in set(EntryKind):
        return None
    kind = EntryKind(shown["kind"])
    return Entry(
        job, number, shown["id"], shown["at"], kind, body, shown["previous"], shown["hash"]
    )


def _head(job: str, head: Mapping[str, Any], entries: list[Entry]) -> list[Finding]:
    last = entries[-1]
    if head.get("entries") != last.number or type(head.get("entries")) is not int:
        text = f"the record was cut off: {last.number} entries are there, not {head.get('entries')}"
        return [Finding(job, last.number, Fault.CUT_OFF, text)]
    if head.get("hash") != last.hash:
        text = "the hash at the head is not that of the last entry"
        return [Finding(job, last.number, Fault.ALTERED, text)]
    return []


def _worked_out_anew(job: str, shown: dict[str, Any], record: Record) -> list[Finding]:
    """What is shown, compared with what the entries say."""
    try:
        anew = json.loads(record_view(record).model_dump_json())
    except (ValueError, KeyError, TypeError) as error:
        text = f"the entries are whole, but cannot be shown by this version ({error})"
        return [Finding(job, None, Fault.ALTERED, text)]
    return [
        Finding(job, None, Fault.ALTERED, f"{where} is not what the entries say")
        for where in _differences(shown, anew, "")
    ]


def _says_nothing(anew: Any) -> bool:
    """What a record of an earlier version could not hold yet, and this one leaves empty."""
    return anew is None or anew in ([], {}, "")


def _differences(shown: Any, anew: Any, where: str) -> Iterator[str]:
    """JSON pointers (RFC 6901) to where the two differ."""
    if isinstance(shown, dict) and isinstance(anew, dict):
        for name in sorted(shown.keys() | anew.keys()):
            if name in shown and name in anew:
                yield from _differences(shown[name], anew[name], f"{where}/{name}")
            elif name in shown or not _says_nothing(anew[name]):
                yield f"{where}/{name}"
    elif isinstance(shown, list) and isinstance(anew, list) and len(shown) == len(anew):
        for number, (one, other) in enumerate(zip(shown, anew, strict=True)):
            yield from _differences(one, other, f"{where}/{number}")
    elif type(shown) is not type(anew) or shown != anew:
        yield where or "/"

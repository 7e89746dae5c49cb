"""Files read within a limit, and files that appear whole or not at all."""

import os
from collections.abc import Iterable
from pathlib import Path


class FileError(Exception):
    """For whoever named the file: why it cannot be read."""


def read_within(file: Path, bytes_most: int, otherwise: str) -> bytes:
    """What is in `file`. otherwise: what to say of one that is larger. Raises FileError."""
    try:
        with file.open("rb") as opened:
            data = opened.read(bytes_most + 1)
    except OSError as error:
        raise FileError(f"{file} cannot be read: {error.strerror}.") from None
    if len(data) > bytes_most:
        raise FileError(f"{file} is larger than {bytes_most} bytes; {otherwise}.")
    return data


def appear(file: Path, chunks: Iterable[bytes], mode: int = 0o666) -> None:
    """Write `chunks` under that name, in place of what stood there. mode: of the new file.

    Until everything is on the disk it has another name, which goes again when something fails on
    the way. Raises OSError, and what `chunks` raises.
    """
    part = file.with_name(f".{file.name}.part")
    try:
        part.unlink(missing_ok=True)
        handle = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY | os.O_CLOEXEC, mode)
        with open(handle, "wb") as out:  # noqa: PTH123 - it is open already
            out.writelines(chunks)
            out.flush()
            os.fsync(out.fileno())
        part.replace(file)
    except BaseException:
        part.unlink(missing_ok=True)
        raise

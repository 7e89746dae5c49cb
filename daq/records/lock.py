"""One writer a data folder, held by the operating system's own lock."""

import contextlib
import fcntl
import os
from pathlib import Path

from daq.records.errors import LockedError

LOCK_NAME = "bench.lock"


class FolderLock:
    """An exclusive lock on a folder, let go by `release` or by the end of the process.

    The lock is the kernel's, not the file's existence, so a bench that was killed leaves nothing
    to clean up. The file holds the process number of the holder, for the sentence only.
    """

    def __init__(self, folder: Path) -> None:
        """Take the lock. Raises LockedError when another process has it, OSError otherwise."""
        self._handle = os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        try:
            fcntl.flock(self._handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            holder = os.pread(self._handle, 20, 0).decode("ascii", "replace").strip()
            os.close(self._handle)
            raise LockedError(
                f"The data folder {folder} is in use by another bench"
                f"{f' (process {holder})' if holder else ''}; stop that one first, or give this "
                "one a data folder of its own."
            ) from None
        with contextlib.suppress(OSError):  # a full disk must not keep a bench from its records
            os.ftruncate(self._handle, 0)
            os.pwrite(self._handle, f"{os.getpid()}\n".encode(), 0)

    def release(self) -> None:
        """Let the folder go."""
        os.close(self._handle)

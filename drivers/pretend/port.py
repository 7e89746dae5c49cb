"""A pseudo serial port that a pretend gauge is plugged into; real to whoever opens it."""

import os
import select
from pathlib import Path

READ_BYTES_MAX = 4096


class PretendPort:
    """A stable name for a pseudo terminal that comes and goes.

    path: where the port appears while it is plugged, a link to the device the system gives. Never
    blocks: what nobody reads is lost, as on a wire, and counted in `unheard_bytes`.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.unheard_bytes = 0
        self._ours: int | None = None
        self.plug()

    def plug(self) -> None:
        """Appear; nothing happens when it is already there."""
        if self._ours is not None:
            return
        self._ours, theirs = os.openpty()
        os.set_blocking(self._ours, False)
        new = self.path.with_name(self.path.name + ".new")
        new.unlink(missing_ok=True)
        new.symlink_to(os.ttyname(theirs))
        new.replace(self.path)
        # Only the listener holds the other end, so the system can tell whether there is one.
        os.close(theirs)

    def unplug(self) -> None:
        """Vanish, as when the cable is pulled."""
        if self._ours is not None:
            self.path.unlink(missing_ok=True)
            os.close(self._ours)
            self._ours = None

    def write(self, data: bytes) -> int:
        """Send; gives how many bytes went to a listener."""
        sent = 0
        if self._ours is not None and self._listened(self._ours):
            try:
                sent = os.write(self._ours, data)
            except (BlockingIOError, OSError):
                sent = 0
        self.unheard_bytes += len(data) - sent
        return sent

    def read(self) -> bytes:
        """What the listener has sent since, as a gauge hears a request; empty when nothing."""
        if self._ours is None or not self._listened(self._ours):
            return b""
        try:
            return os.read(self._ours, READ_BYTES_MAX)
        except OSError:
            return b""

    @staticmethod
    def _listened(descriptor: int) -> bool:
        poll = select.poll()
        poll.register(descriptor, 0)
        return not any(event & select.POLLHUP for _, event in poll.poll(0))

"""What every wire counts of the bytes that it did not understand."""

from drivers.wires.base import LAST_REJECTED_BYTES


class Counting:
    """The counts of the contract in `drivers.wires.base.Wire`, for a gauge that speaks by itself.

    After a tear what is lost is skipped; else it is rejected, and what is lost in a row is one
    message.
    """

    def __init__(self, limit_bytes: int) -> None:
        self.limit_bytes = limit_bytes
        self.rejected_messages = 0
        self.rejected_bytes = 0
        self.skipped_bytes = 0
        self.last_rejected = b""
        self._torn = False
        self._rejecting = False  # what was lost last and what comes now are one message

    def ask(self) -> bytes:
        """Nothing: such a gauge speaks by itself."""
        return b""

    def _lose(self, lost: bytes) -> None:
        if self._torn:
            self.skipped_bytes += len(lost)
            return
        self.rejected_messages += not self._rejecting
        self._rejecting = True
        self.rejected_bytes += len(lost)
        self.last_rejected = (self.last_rejected + lost)[-LAST_REJECTED_BYTES:]

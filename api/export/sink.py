"""A file that is handed on while it is written: nothing is kept but what was not taken yet."""


class Sink:
    """Where zipfile and pyarrow write to; they may ask where they are, but not go back."""

    closed = False

    def __init__(self) -> None:
        self._parts: list[bytes] = []
        self._written = 0

    def write(self, data: bytes) -> int:
        """Append."""
        self._parts.append(bytes(data))
        self._written += len(data)
        return len(data)

    def tell(self) -> int:
        """How much was written so far."""
        return self._written

    def flush(self) -> None:
        """Nothing waits here."""

    def close(self) -> None:
        """The writer is done; what it wrote can still be taken."""

    def readable(self) -> bool:
        """No."""
        return False

    def writable(self) -> bool:
        """Yes."""
        return True

    def seekable(self) -> bool:
        """No."""
        return False

    def taken(self) -> bytes:
        """What was written since the last time."""
        data = b"".join(self._parts)
        self._parts.clear()
        return data

"""A place in a frame as the wire reads it, and which half bytes it takes."""

from drivers.wires import frame


class Field(frame.Field):
    """See `drivers.wires.frame.Field`."""

    __slots__ = ()

    def covers(self) -> set[int]:
        """Its half bytes."""
        return set(range(self.at, self.at + self.digits))

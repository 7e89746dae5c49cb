"""A place in a frame, as a profile names it: in half bytes, with the order of its digits."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Field:
    """Where something stands, in half bytes, and the order of its digits."""

    at: int
    digits: int
    order: str = "high-first"

    def covers(self) -> set[int]:
        """Its half bytes."""
        return set(range(self.at, self.at + self.digits))

    def text(self, cells: str) -> str:
        """Its digits, the highest first."""
        cut = cells[self.at : self.at + self.digits]
        if self.order == "low-first":
            return cut[::-1]
        if self.order == "low-byte-first":
            return "".join(cut[i : i + 2] for i in range(len(cut) - 2, -1, -2))
        return cut

"""The `typed` wire: what a gauge types like a keyboard, caught by the page or another program.

The text is what the keys make on this computer: with another keyboard language the decimal mark
may come out as a comma, and the Enter or Tab at the end of a number is what ends the line.
"""

from collections.abc import Mapping
from typing import Any, Self

from drivers.wires.base import Heard
from drivers.wires.line import Line, LineForm


class Typed(Line):
    """A `Line` that Tab ends, too, and whose decimal mark may be either."""

    def __init__(self, form: LineForm, *, either: bool) -> None:
        super().__init__(form)
        self._either = either

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build from the profile's table `typed`."""
        table = dict(tables["typed"])
        either = table["decimal"] == "either"
        return cls(
            LineForm(**{**table, "decimal": "." if either else table["decimal"]}), either=either
        )

    def feed(self, data: bytes) -> list[Heard]:
        """Take more characters; give the numbers of the lines they complete, in order."""
        data = data.replace(b"\t", b"\n")
        return super().feed(data.replace(b",", b".") if self._either else data)

"""The `ask` wire: a request goes out, then a line comes back.

When to ask is the gauge's business; the wire knows what to say. A line that comes unasked or late
is read like any other: it is the gauge's number all the same.
"""

from collections.abc import Mapping
from typing import Any, Self

from drivers.wires.line import Line, LineForm


class Ask(Line):
    """A `Line` with a request."""

    def __init__(self, form: LineForm, request: bytes) -> None:
        super().__init__(form)
        self._request = request

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build from the profile's tables `line` and `ask`."""
        return cls(LineForm(**tables["line"]), tables["ask"]["request"].encode("ascii"))

    def ask(self) -> bytes:
        """What to send."""
        return self._request

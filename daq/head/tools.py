"""Tools without a wire: what a number that a person read off one is worth.

The bench's config says it for a tool of the shop; otherwise a table of kinds of tools does
(`values/tools.toml`, package data, each row with its source).
"""

import tomllib
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from importlib import resources

from daq.head.errors import RefusedError
from daq.head.instrument import Instrument


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool, or a kind of tool. step, error_limit: in `unit`; error_share: of the value. source:
    who says so. assumed: nobody named the tool, so the usual one was taken."""

    kind: str
    unit: str
    step: Decimal
    error_limit: Decimal | None
    error_share: Decimal
    source: str
    usual_for: frozenset[str] = frozenset()
    assumed: bool = False

    def error_limit_of(self, value: float) -> float | None:
        """Half-width of what the tool may be off at `value`; None where nobody said."""
        if self.error_limit is None:
            return None
        return float(self.error_limit) + float(self.error_share) * abs(value)


@cache
def kinds() -> dict[str, Tool]:
    """The kinds of tools there are figures for, by name."""
    text = (resources.files("daq.head") / "values/tools.toml").read_text("utf-8")
    return {
        row["kind"]: Tool(
            kind=row["kind"],
            unit=row["unit"],
            step=Decimal(row["step"]),
            error_limit=Decimal(row.get("error_limit", "0")),
            error_share=Decimal(row.get("error_share", "0")),
            source=row["source"],
            usual_for=frozenset(row["usual_for"]),
        )
        for row in tomllib.loads(text)["tool"]
    }


def usual_tool(characteristic: str) -> Tool | None:
    """The kind of tool that is usual for a characteristic, where there are figures for it."""
    return next((tool for tool in kinds().values() if characteristic in tool.usual_for), None)


def tool_used(gauge: Instrument | None, characteristic: str, unit: str) -> Tool | None:
    """The tool a value was read from: a gauge of the bench, a kind by its name, or the usual one.

    The usual one also for a tool that is known by its name alone: a name is no reason to trust it
    more than one that nobody named. None where there are no figures. Raises RefusedError for a
    kind that cannot give such a value.
    """
    kind = None if gauge is None else kinds().get(gauge.kind or gauge.name)
    if gauge is None or (kind is None and not gauge.is_known):
        usual = usual_tool(characteristic)
        return None if usual is None else replace(usual, step=Decimal(0), assumed=True)
    if kind is not None and kind.unit != unit:
        raise RefusedError(f"a {kind.kind} gives {kind.unit}, and this is asked for in {unit}")
    if not gauge.is_known:
        return kind
    step = Decimal(repr(gauge.resolution_mm))
    if gauge.error_limit_mm is None and kind is not None:
        return replace(kind, kind=gauge.name, step=step)
    limit = None if gauge.error_limit_mm is None else Decimal(repr(gauge.error_limit_mm))
    return Tool(gauge.name, unit, step, limit, Decimal(0), "the bench's config")

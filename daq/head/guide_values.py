"""Guide values: what published examples suggest where the engine maker's limit is not known.

The table (`values/guide-values.toml`) is package data; every row names the examples it was chosen
from. A guide value is never the maker's and is always shown so. There is none for the recess:
published figures run from 3.3 mm proud to 2.7 mm deep.
"""

import tomllib
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from functools import cache
from importlib import resources
from typing import Any, Literal

from daq.head.limits import Limit
from daq.metrology.spring import gap_mm

Use = Literal["wear", "new"]
_CLEARANCE = "guide.clearance"
_STEP_MM = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Known:
    """What a plan says that a guide value may depend on.

    side: `I`, `E`, or `head`. stem_mm: nominal diameter. nominal: of a new part, in the
    characteristic's unit (mm, or N for a load). free_length_mm: of a new spring. height: of the
    valve when a load is taken. span_mm: how long a line of flatness is; None for the whole face.
    """

    side: str
    stem_mm: Decimal | None = None
    nominal: Decimal | None = None
    free_length_mm: Decimal | None = None
    height: Literal["fitted", "open"] | None = None
    span_mm: Decimal | None = None


@cache
def _tables() -> dict[str, Any]:
    text = (resources.files("daq.head") / "values/guide-values.toml").read_text("utf-8")
    return tomllib.loads(text)


def plausible_mm(name: str) -> tuple[Decimal, Decimal] | None:
    """The bounds outside which a limit for `name` is asked about; None where none are set."""
    name = _CLEARANCE if name.startswith(_CLEARANCE) else name
    for row in _tables()["plausible"]:
        if row["characteristic"] == name:
            return Decimal(row["min_mm"]), Decimal(row["max_mm"])
    return None


def hold_s() -> Decimal:
    """How long fluid has to stay in a chamber (common practice, no source)."""
    return Decimal(next(row["hold_s"] for row in _tables()["default"] if "hold_s" in row))


def shim_most_mm() -> Decimal:
    """The thickest shims together under a spring."""
    rows = _tables()["default"]
    return Decimal(next(r["max_mm"] for r in rows if r["characteristic"] == "spring.shim"))


def stem_wear_most_mm() -> Decimal:
    """How far the largest and the smallest diameter of one stem may lie apart."""
    rows = _tables()["default"]
    return Decimal(next(r["max_mm"] for r in rows if r["characteristic"] == "valve.stem_wear"))


def guide_value(name: str, known: Known, use: Use) -> Limit | None:
    """The guide value for `name`, or None where there is none or too little is known."""
    wanted = _CLEARANCE if name.startswith(_CLEARANCE) else name
    zones = []
    for row in _tables()["default"]:
        if row["characteristic"] == wanted and _applies(row, known):
            zone = _zone(name, row, known, use)
            if zone is not None:
                zones.append((row, *zone))
    if not zones:
        return None
    lowers = [lower for _, lower, _ in zones if lower is not None]
    uppers = [upper for _, _, upper in zones if upper is not None]
    return Limit(
        lower=max(lowers, default=None),
        upper=min(uppers, default=None),
        kind="guide",
        source="; ".join(dict.fromkeys(_said(row) for row, _, _ in zones))[:300],
    )


def _applies(row: dict[str, Any], known: Known) -> bool:
    if row["side"] in {"I", "E"} and row["side"] != known.side:
        return False
    if "stem_mm" in row:
        low, high = (Decimal(each) for each in row["stem_mm"])
        if known.stem_mm is None or not low <= known.stem_mm < high:
            return False
    if "at" in row and (known.height is None or not row["at"].startswith(known.height)):
        return False
    if row["characteristic"] == "head.flatness":
        return ("over_mm" in row) == (
            known.span_mm is not None and known.span_mm <= Decimal(row.get("over_mm", "150"))
        )
    return True


def _zone(
    name: str, row: dict[str, Any], known: Known, use: Use
) -> tuple[Decimal | None, Decimal | None] | None:
    """Lower and upper end that a row gives, or None where it gives no end for this."""
    nominal = known.nominal
    if name.startswith(_CLEARANCE):
        least, most = (Decimal(each) for each in row["new_mm"])
        if name.endswith("_min"):
            return least, None
        if name.endswith("_max"):
            return None, most if use == "new" else Decimal(row["max_mm"])
        return None
    if "max_deg" in row:
        if known.free_length_mm is None:
            return None
        gap = Decimal(gap_mm(float(row["max_deg"]), float(known.free_length_mm)))
        return None, gap.quantize(_STEP_MM, ROUND_DOWN)
    if nominal is not None:
        if "max_loss_percent_of_new" in row or "max_loss_percent" in row:
            loss = Decimal(row.get("max_loss_percent_of_new") or row["max_loss_percent"])
            return nominal * (100 - loss) / 100, None
        if "plus_minus_mm" in row:
            half = Decimal(row["plus_minus_mm"])
            return nominal - half, nominal + half
        if "max_loss_mm" in row:
            return nominal - Decimal(row["max_loss_mm"]), None
        if "min_fraction_of_new" in row:
            return nominal * Decimal(row["min_fraction_of_new"]), None
    lower = Decimal(row["min_mm"]) if "min_mm" in row else None
    upper = Decimal(row["max_mm"]) if "max_mm" in row else None
    if use == "new" and "new_max_mm" in row:
        upper = Decimal(row["new_max_mm"])
    return None if lower is None and upper is None else (lower, upper)


def _said(row: dict[str, Any]) -> str:
    """Where a row comes from, in words: for which stems, chosen from which examples."""
    stems = ""
    if "stem_mm" in row:
        low, high = row["stem_mm"]
        stems = f"stems of {low} to {high} mm, "
    side = {"I": "intake, ", "E": "exhaust, "}.get(row["side"], "")
    sources = row["sources"]
    examples = f" ({'; '.join(sources[:3])})" if sources else ""
    more = f" and {len(sources) - 3} more" if len(sources) > 3 else ""
    return f"{stems}{side}{row['status']}{examples}{more}"

"""The characteristics of a head: what is measured on which part, how, and in which unit.

The names are the ones used everywhere: in plans, over HTTP, in records and exports.
"""

from dataclasses import dataclass
from typing import Literal

from daq.head.errors import UnknownError

# The values of daq.capture.base.Kind; head does not see capture, so they are spelled here.
CaptureKind = Literal["turn", "rock", "settle", "decay", "look"]
Part = Literal["head", "valve", "guide", "seat", "spring"]


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One thing that is measured or looked at.

    name: `part.characteristic`. capture: how readings become the value; None when it is derived
    from other measurements. unit: the canonical unit of its value. zeros: how many settled
    readings its value is the difference of, less one (a recess needs the face and the valve).
    needs_limit: no decision about the part without a limit for this; the diameters are judged
    through the clearance of the pair instead. where: where the gauge goes, for the person.
    """

    name: str
    part: Part
    capture: CaptureKind | None
    unit: str
    where: str
    zeros: int = 0
    needs_limit: bool = True


_ALL = (
    Characteristic(
        "valve.look",
        "valve",
        "look",
        "1",
        "look at face, tip, stem, grooves and for a sodium mark",
        needs_limit=False,
    ),
    Characteristic(
        "valve.stem_runout",
        "valve",
        "turn",
        "mm",
        "stem in the V-blocks by its guide zone, indicator square to the stem at mid-span",
    ),
    Characteristic(
        "valve.stem_diameter",
        "valve",
        "settle",
        "mm",
        "micrometer across the stem",
        needs_limit=False,
    ),
    Characteristic(
        "guide.diameter",
        "guide",
        "rock",
        "mm",
        "bore gauge in the guide, rocked through its least reading",
        needs_limit=False,
    ),
    Characteristic(
        "valve.recess",
        "valve",
        "settle",
        "mm",
        "indicator in the bridge: first on the head face, then on the valve head",
        zeros=1,
    ),
    Characteristic("guide.clearance_max", "guide", None, "mm", "largest bore − smallest stem"),
    Characteristic("guide.clearance_min", "guide", None, "mm", "smallest bore − largest stem"),
    Characteristic(
        "guide.clearance_mean",
        "guide",
        None,
        "mm",
        "mean bore − mean stem",
        needs_limit=False,
    ),
)
CATALOGUE = {characteristic.name: characteristic for characteristic in _ALL}


def characteristic(name: str) -> Characteristic:
    """The characteristic of that name. Raises UnknownError with the names that exist."""
    try:
        return CATALOGUE[name]
    except KeyError:
        raise UnknownError(
            f"there is no characteristic {name!r}; there are {', '.join(CATALOGUE)}"
        ) from None

"""What is known of a characteristic before anybody measures it."""

from dataclasses import dataclass
from typing import Literal

# The values of daq.capture.base.Kind; head does not see capture, so they are spelled here.
CaptureKind = Literal["turn", "rock", "settle", "decay", "look"]
# `assembly` is not a part that wears but what is checked when the valve goes in.
Part = Literal["head", "valve", "guide", "seat", "spring", "assembly"]
# In the order of the trade: guides before seats, seats before recess, height and leak.
Stage = Literal[
    "cleaning",
    "crack check",
    "head face",
    "guide",
    "valve",
    "pair",
    "seat",
    "recess",
    "spring",
    "fitted height",
    "leak test",
    "assembly",
]
Zeroing = Literal[
    "none",
    "any reading",
    "setting ring",
    "anvils or gauge block",
    "gauge block",
    "surface plate",
    "head face",
    "spring seat",
    "closed jaws",
    "unloaded",
    "ambient pressure",
]
LimitSort = Literal["most", "least", "band", "yes", "none"]
Places = Literal["once", "depths and directions", "spots", "lengths"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """One thing that is measured or looked at.

    name: `part.characteristic`. stage: the step of the trade it belongs to. capture: how readings
    become the value; None when it is derived from other measurements. unit: the canonical unit of
    its value. gauge: the class of gauge it takes. zeroing: what that gauge is zeroed on. places:
    what tells its readings on one part apart. zeros: how many settled readings its value is the
    difference of, less one (a recess needs the face and the valve). closes: its gauge comes down on
    the part from outside, so that it reads too much until it is seated, and never too little.
    limit: which end of it is limited. needs_limit: no decision about the part without a limit for
    this; the diameters are judged through the clearance of the pair instead. where: where the gauge
    goes, for the person. made_new_by: work on these parts puts it back to new, and the limit for
    new then holds. source: where the way of measuring comes from.
    """

    name: str
    part: Part
    stage: Stage
    capture: CaptureKind | None
    unit: str
    where: str
    gauge: str
    limit: LimitSort
    source: str
    zeroing: Zeroing = "none"
    places: Places = "once"
    zeros: int = 0
    closes: bool = False
    needs_limit: bool = True
    made_new_by: tuple[Part, ...] = ()

"""What may still be ground at one position, and where the heights would stand after it."""

from collections.abc import Mapping
from dataclasses import replace
from math import cos, radians

from pydantic import BaseModel, ConfigDict

from daq.head.deciding.here import Here
from daq.head.guide_values import shim_most_mm
from daq.head.history import History
from daq.head.measurement import Status
from daq.head.plan import Plan
from daq.head.remaining_stock import CUTS, Cut, Height, after, along_axis_mm, left
from daq.head.view import RecordView
from daq.metrology.conformity import judge

_FITTED = "spring.fitted_height"


class CutLeft(BaseModel):
    """What is left of one cut, in mm along the axis; null while that cannot be said.

    square_mm: the same, measured square to a face of the seat angle that was given; null without
    one, and for the tip. because: what each height allows, in words.
    """

    model_config = ConfigDict(frozen=True)

    cut: Cut
    along_axis_mm: str | None
    square_mm: str | None
    stopped_by: str
    because: tuple[str, ...]


class HeightAfter(BaseModel):
    """One height before and after the cuts that were asked about, in mm, against its limits."""

    model_config = ConfigDict(frozen=True)

    characteristic: str
    before_mm: str
    after_mm: str
    outcome: str


class WhatIf(BaseModel):
    """The answer for one position."""

    model_config = ConfigDict(frozen=True)

    position: str
    left: tuple[CutLeft, ...]
    after: tuple[HeightAfter, ...]


def what_if(
    plan: Plan,
    view: RecordView,
    position: str,
    cuts: Mapping[Cut, float],
    *,
    angle_deg: float | None = None,
) -> WhatIf:
    """What is left at `position`, and its heights after `cuts` (mm along the axis).

    angle_deg: of the seat, to say stock square to it as well. Raises ValueError for an angle that
    is none of a seat.
    """
    standing = [m for m in view.measurements if m.status is not Status.VOID and not m.superseded]
    heights = dict(Here.of(plan, position, standing, History()).heights)
    if _FITTED in heights and not _is_shimmed(view, position):
        heights[_FITTED] = replace(heights[_FITTED], shim_mm=float(shim_most_mm()))
    if angle_deg is not None:
        along_axis_mm(1.0, angle_deg)
    return WhatIf(
        position=position,
        left=tuple(_left(cut, heights, angle_deg) for cut in CUTS),
        after=tuple(
            HeightAfter(
                characteristic=name,
                before_mm=f"{heights[name].value_mm:.3f}",
                after_mm=f"{value_mm:.3f}",
                outcome=_outcome(heights[name], value_mm),
            )
            for name, value_mm in after(heights, cuts).items()
        ),
    )


def _is_shimmed(view: RecordView, position: str) -> bool:
    """Whether there are shims already: how many more fit is not known then, so none are counted."""
    return any((w.part, w.act, w.position) == ("spring", "shimmed", position) for w in view.reworks)


def _left(cut: Cut, heights: Mapping[str, Height], angle_deg: float | None) -> CutLeft:
    found = left(cut, heights)
    square = None
    if found.room_mm is not None and angle_deg is not None and cut != "tip":
        square = f"{found.room_mm * cos(radians(angle_deg)):.3f}"
    return CutLeft(
        cut=cut,
        along_axis_mm=None if found.room_mm is None else f"{found.room_mm:.3f}",
        square_mm=square,
        stopped_by=found.stopped_by,
        because=tuple(bound.text for bound in found.bounds),
    )


def _outcome(height: Height, value_mm: float) -> str:
    if height.lower_mm is None and height.upper_mm is None:
        return "no limit"
    upper = None if height.upper_mm is None else height.upper_mm + height.shim_mm
    return judge(value_mm, height.u_mm, height.lower_mm, upper).value

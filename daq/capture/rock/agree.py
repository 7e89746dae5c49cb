"""Which passes of a rocked gauge agree, and what they say together.

A hand that turned back before upright leaves a bottom that is too high; nothing but lost contact
leaves one that is too low. So the passes that agree among themselves are the diameter, the
scattered high ones are no passes, and low ones are a reason for doubt.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from daq.capture.rock.bottom import Bottom
from daq.metrology.uncertainty import coverage_factor

AGREEING_LEAST = 3
# Passes of one place of a bore differ by this much even where the fit is perfect, because a hand
# does not find the very same line again. Common practice, no source.
_PLACE_U_MM = 0.0003
_AGREE_SIGMAS = 3.0
# A bottom less certain than this neither makes nor breaks an agreement by itself.
_LEAD_U_MM = 0.002
# So many of them, spread over all, are enough to find any agreement that counts; the work for each
# pass stays in proportion to the passes.
_LEADS_MOST = 48
# Agreement among few of many is chance, not a diameter.
_SHARE_LEAST = 0.4
# One bottom below the others is forgiven (a touch lost and found) when this many agree.
_FORGIVING = 4


@dataclass(frozen=True, slots=True)
class Agreement:
    """What the passes say together.

    used, high, low: places of the passes that agree, lie above, lie below. rivals: how many of the
    high ones agree among themselves; turning back before upright is never twice the same.
    fit_u_mm: from the curves' own uncertainties. shape_u_mm: from their assumed shape, alike in
    all. repeat_u_mm: from the scatter of the passes, widened for their small number (half
    Student's t factor, so that twice it covers 95 %).
    """

    value_mm: float
    fit_u_mm: float
    shape_u_mm: float
    repeat_u_mm: float
    used: tuple[int, ...]
    high: tuple[int, ...]
    low: tuple[int, ...]
    rivals: int = 0

    @property
    def rivalled(self) -> bool:
        """A larger size is agreed on, too, by nearly as many passes."""
        return self.rivals >= AGREEING_LEAST and 2 * self.rivals > len(self.used)

    @property
    def holds(self) -> bool:
        """Enough passes agree, and too few others contradict them."""
        several = len(self.used) >= AGREEING_LEAST
        most = len(self.used) >= _SHARE_LEAST * (len(self.used) + len(self.high) + len(self.low))
        low_most = 1 if len(self.used) >= _FORGIVING else 0
        return several and most and not self.rivalled and len(self.low) <= low_most


def agreement(bottoms: Sequence[Bottom]) -> Agreement | None:
    """The largest set of passes that agree, the lowest of equally large ones; None without any."""
    best = _largest(bottoms)
    if best is None:
        return None
    above = [bottoms[place] for place in best.high if bottoms[place].u_mm <= _LEAD_U_MM]
    rival = _largest(above)
    return replace(best, rivals=len(rival.used) if rival else 0)


def _largest(bottoms: Sequence[Bottom]) -> Agreement | None:
    leads = [bottom for bottom in bottoms if bottom.u_mm <= _LEAD_U_MM] or list(bottoms)
    best: Agreement | None = None
    ordered = sorted(leads, key=lambda bottom: bottom.value_mm)
    for lead in ordered[:: len(ordered) // _LEADS_MOST + 1]:
        together = _around(bottoms, lead.value_mm, lead.u_mm)
        together = _around(bottoms, together.value_mm, together.fit_u_mm)
        if best is None or _weight(bottoms, together) > _weight(bottoms, best):
            best = together
    return best


def _weight(bottoms: Sequence[Bottom], together: Agreement) -> int:
    return sum(bottoms[place].u_mm <= _LEAD_U_MM for place in together.used)


def _around(bottoms: Sequence[Bottom], centre_mm: float, u_mm: float) -> Agreement:
    used: list[int] = []
    high: list[int] = []
    low: list[int] = []
    for place, bottom in enumerate(bottoms):
        away_mm = bottom.value_mm - centre_mm
        allowed_mm = _AGREE_SIGMAS * math.hypot(bottom.u_mm, bottom.shape_u_mm, u_mm, _PLACE_U_MM)
        side = used if abs(away_mm) <= allowed_mm else high if away_mm > 0 else low
        side.append(place)
    if not used:
        return Agreement(centre_mm, u_mm, 0.0, 0.0, (), tuple(high), tuple(low))
    found = [bottoms[place] for place in used]
    weights = [1 / (one.u_mm**2 + one.shape_u_mm**2 + _PLACE_U_MM**2) for one in found]
    total = math.fsum(weights)
    pairs = list(zip(weights, found, strict=True))
    mean_mm = math.fsum(w * one.value_mm for w, one in pairs) / total
    return Agreement(
        value_mm=mean_mm,
        fit_u_mm=math.sqrt(math.fsum((w * one.u_mm) ** 2 for w, one in pairs)) / total,
        shape_u_mm=math.fsum(w * one.shape_u_mm for w, one in pairs) / total,
        repeat_u_mm=_repeat_u_mm(weights, [one.value_mm for one in found], mean_mm),
        used=tuple(used),
        high=tuple(high),
        low=tuple(low),
    )


def _repeat_u_mm(weights: Sequence[float], values: Sequence[float], mean_mm: float) -> float:
    """Standard uncertainty of a weighted mean from the scatter of its values; 0 for one value."""
    freedom = len(values) - 1
    if freedom == 0:
        return 0.0
    total = math.fsum(weights)
    squares = math.fsum(w * (v - mean_mm) ** 2 for w, v in zip(weights, values, strict=True))
    return math.sqrt(squares / total / freedom) * coverage_factor(0.95, freedom) / 2

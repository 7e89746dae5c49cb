"""What a guide that is proven out needs, and what its clearance says of guide and valve."""

from daq.head.deciding.here import Found, Here
from daq.head.deciding.judged import Judged
from daq.head.deciding.outcome import Act, Verdict
from daq.head.deciding.pair import Worn, pair_at

_RENEWED = Act(part="guide", what="renewed")
_REAMED = Act(part="guide", what="reamed")
_NEW_VALVE = Act(part="valve", what="replaced")
# Stems are made oversize by 0.015 and 0.030 in (TM 9-2815-255-24); a bore has to clean up at the
# next step, and never goes straight to the largest (an engine maker).
OVERSIZES_MM = (0.381, 0.762)
# Of clearance over its limit, 0.006 in there, one manual knurls, threads and reams up to 0.008 in.
KNURLED_MM_MOST = 0.0508
_THEN = "clean it and measure guide and seat again"


def diameter(here: Here, found: Judged) -> Found:
    """Worn: next oversize stem or a new guide; too small: ream."""
    if not found.is_above:
        return Found(Verdict.REWORK, f"ream the guide to size, {_THEN}", _REAMED)
    return Found(Verdict.REWORK, f"{_oversize_or_renew(here)}; {_THEN}", _RENEWED)


def clearance_max(here: Here, found: Judged) -> Found:
    """Both parts shown; the one that is worn goes (TM 9-2815-255-24, an engine maker)."""
    pair = pair_at(here, found)
    worn = Worn.UNKNOWN if pair is None else pair.worn()
    both = "" if pair is None else f"{pair.said}. "
    match worn:
        case Worn.VALVE:
            return Found(
                Verdict.UNSURE,
                f"{both}The stem is worn, and a valve as new fits this guide: replace the valve "
                "and measure the pair again",
                _NEW_VALVE,
            )
        case Worn.WORSE_VALVE:
            return Found(
                Verdict.UNSURE,
                f"{both}Each would do with a new partner; the stem is worn more: replace the "
                "valve and measure the pair again, or renew the guide",
                _NEW_VALVE,
            )
        case Worn.GUIDE | Worn.WORSE_GUIDE:
            return Found(
                Verdict.REWORK,
                f"{both}The guide is worn{'' if worn is Worn.GUIDE else ' more'}: "
                f"{_oversize_or_renew(here, found.beyond())}; {_THEN}",
                _RENEWED,
            )
        case Worn.BOTH:
            return Found(
                Verdict.REWORK,
                f"{both}Both are worn: renew guide and valve as a pair; {_THEN}",
                _RENEWED,
            )
        case Worn.UNKNOWN:
            return Found(
                Verdict.REWORK,
                f"{both}Try the worse part new: a new valve in this guide, or renew the guide; "
                "measure again",
                _RENEWED,
            )


def clearance_min(here: Here, found: Judged) -> Found:
    """Too tight: ream to the least clearance; a stem thicker than new is another valve's."""
    pair = pair_at(here, found)
    both = "" if pair is None else f"{pair.said}. "
    if pair is not None and pair.new_bore_mm is not None and not pair.stem_is_good():
        return Found(
            Verdict.REWORK,
            f"{both}The stem is too thick for a guide as new: is it the right valve, or an "
            "oversize stem? Then ream the guide for it; clean it and measure again",
            _REAMED,
        )
    return Found(Verdict.REWORK, f"{both}Ream the guide to the least clearance; {_THEN}", _REAMED)


def clearance_mean(_here: Here, _found: Judged) -> Found:
    """Out on the mean where a plan limits it: the two ends say which part goes."""
    return Found(
        Verdict.REWORK,
        f"the largest and the least clearance say which of guide and valve is worn; {_THEN}",
        _RENEWED,
    )


def protrusion(_here: Here, _found: Judged) -> Found:
    """The guide is driven to its protrusion (TM 9-2815-225-34&P step 14)."""
    return Found(
        Verdict.REWORK,
        f"drive the guide to its height, or renew it where it sits loose; {_THEN}",
        Act(part="guide", what="driven to its height"),
    )


def rocking(_here: Here, _found: Judged) -> Found:
    """The chain of an engine maker: new valve first, then bore and stem. Not the clearance."""
    return Found(
        Verdict.REWORK,
        "rock it again with a new valve; inside then: replace the valve; still too large: measure "
        "bore and stem and renew what the clearance condemns",
        _RENEWED,
    )


def _oversize_or_renew(here: Here, over_limit_mm: float | None = None) -> str:
    """over_limit_mm: by how much the clearance is beyond its limit, for the choice by bands."""
    knurl = ""
    if over_limit_mm is not None and over_limit_mm <= KNURLED_MM_MOST:
        knurl = f"knurl and ream it (up to {KNURLED_MM_MOST} mm over, TM 9-2815-255-24), "
    step, bore = here.plan.step("guide.diameter"), here.largest("guide.diameter")
    if step is None or step.nominal_mm is None or bore is None or bore.value is None:
        return f"{knurl}ream it for the next oversize stem, or renew it"
    nominal_mm = float(step.nominal_mm)
    for over_mm in OVERSIZES_MM:
        if bore.value < nominal_mm + over_mm:
            return (
                f"{knurl}renew it, or ream it for the next oversize stem (+{over_mm:.3f} mm) where "
                "one is made"
            )
    return f"{knurl}renew it; it is beyond the largest oversize stem"


WHEN_OUT = {
    "guide.diameter": diameter,
    "guide.clearance_max": clearance_max,
    "guide.clearance_min": clearance_min,
    "guide.clearance_mean": clearance_mean,
    "guide.protrusion": protrusion,
    "guide.rocking": rocking,
}

"""What a spring that is proven out needs: a new one, or a shim."""

from daq.head.deciding.here import Found, Here
from daq.head.deciding.judged import Judged
from daq.head.deciding.outcome import Act, Verdict
from daq.head.guide_values import shim_most_mm

_SHIMMED = Act(part="spring", what="shimmed")


def _replace(why: str) -> Found:
    return Found(
        Verdict.REPLACE,
        f"replace the spring{why}; often the whole set goes",
        Act(part="spring", what="replaced"),
    )


def tired(_here: Here, _found: Judged) -> Found:
    """Short or weak (NAVEDTRA 14076; TM 9-2815-247-34)."""
    return _replace("; a shim does not mend a tired spring")


def crooked(_here: Here, _found: Judged) -> Found:
    """Leaning or bowed (engine makers)."""
    return _replace("")


def fitted_height(here: Here, found: Judged) -> Found:
    """Shims give back what cutting took, within their limit (TM 5-3810-289-34; a magazine)."""
    if not found.is_above:
        return Found(
            Verdict.REWORK,
            f"{found.beyond():.2f} mm too low: take shims out, or look at the seat again; a tip "
            "that stands too high is ground within its limit",
        )
    most_mm = float(shim_most_mm())
    least_mm = found.beyond()
    if least_mm > most_mm:
        return Found(
            Verdict.REWORK,
            f"{least_mm:.2f} mm of shim would be needed, and {most_mm:g} mm is the most: the valve "
            "sits too deep; a new valve, else a new seat insert",
            Act(part="seat", what="renewed"),
        )
    limits = found.limits
    low = None if limits is None else limits.lower
    may_mm = most_mm if low is None else min(most_mm, (found.value or 0.0) - float(low))
    gap = here.smallest("spring.coil_gap")
    solid = "; see that the coils stay clear at open height"
    if gap is not None and gap.limits is not None and gap.limits.lower is not None:
        gap_mm = (gap.value or 0.0) - float(gap.limits.lower)
        if gap_mm < least_mm:
            return Found(
                Verdict.REWORK,
                f"{least_mm:.2f} mm of shim are needed, but the coils leave only {gap_mm:.2f} mm "
                "at open height: a new valve, else a new seat insert",
                Act(part="seat", what="renewed"),
            )
        may_mm, solid = min(may_mm, gap_mm), ""
    return Found(
        Verdict.REWORK, f"shim the spring by {least_mm:.2f} to {may_mm:.2f} mm{solid}", _SHIMMED
    )


def coil_gap(_here: Here, _found: Judged) -> Found:
    """A spring that goes solid breaks something (common practice, no source)."""
    return Found(
        Verdict.REWORK,
        "the coils touch, or nearly, at open height: less shim, or the right spring",
        _SHIMMED,
    )


WHEN_OUT = {
    "spring.free_length": tired,
    "spring.load": tired,
    "spring.squareness": crooked,
    "spring.bow": crooked,
    "spring.fitted_height": fitted_height,
    "spring.coil_gap": coil_gap,
}

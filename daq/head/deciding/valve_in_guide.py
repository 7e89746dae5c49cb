"""What the clearance of a pair says of its valve; of its guide it is said in `of_guide`.

A stem without a limit of its own is judged only here, so a valve is never accepted before its
pair is measured whole.
"""

from collections.abc import Iterator

from daq.head.deciding.here import Here
from daq.head.deciding.judged import Judged
from daq.head.deciding.outcome import Act, Reason, Verdict
from daq.head.deciding.pair import Worn, pair_at
from daq.head.measurement import Status

_CLEARANCES = ("guide.clearance_max", "guide.clearance_min")
_REPLACED = Act(part="valve", what="replaced")


def reasons_of_pair(here: Here) -> Iterator[Reason]:
    """Reasons about the valve at this position that come from its clearance."""
    if here.plan.step("valve.stem_diameter") is None:
        return
    for name in _CLEARANCES:
        if here.plan.step(name) is None:
            continue
        found = here.all(name)
        if not found:
            yield Reason(
                characteristic=name,
                measurement_id=None,
                limit=None,
                limit_source=None,
                text=f"the stem is judged in its guide, and {name} cannot be worked out until both "
                "are measured",
                next="measure guide and stem",
                verdict=Verdict.NOT_MEASURED,
            )
        for each in found:
            reason = _of(here, each)
            if reason is not None:
                yield reason


def _of(here: Here, clearance: Judged) -> Reason | None:
    pair = pair_at(here, clearance)
    both = "" if pair is None else f" ({pair.said})"
    if clearance.status is Status.FAIL and pair is not None:
        worn = pair.worn()
        if pair.loose and worn is Worn.WORSE_GUIDE:
            # Nothing of a pair that is out is good to go before the pair is.
            text = f"{clearance.said} is {clearance.proven}{both}: the guide is worn more"
            ask = "renew the guide and measure the pair again; this stem is proven to fit a new one"
            return _reason(clearance, Verdict.UNSURE, text, ask)
        if pair.loose and worn is Worn.BOTH and not pair.stem_is_out():
            text = f"{clearance.said} is {clearance.proven}{both}: the stem is worn, too"
            ask = "renew the guide first; then the pair says whether this stem may stay"
            return _reason(clearance, Verdict.UNSURE, text, ask)
        if pair.loose and worn in {Worn.VALVE, Worn.BOTH, Worn.WORSE_VALVE}:
            text = f"{clearance.said} is {clearance.proven}{both}: the stem is worn"
            return _reason(clearance, Verdict.REPLACE, text, "replace the valve", _REPLACED)
        if not pair.loose and not pair.stem_is_good():
            text = f"{clearance.said} is {clearance.proven}{both}"
            ask = "is it the right valve, or an oversize stem? Look at its number and measure again"
            return _reason(clearance, Verdict.UNSURE, text, ask)
        if pair.loose and worn is Worn.UNKNOWN:
            text = (
                f"{clearance.said} is {clearance.proven}{both}, and nobody says which "
                "of the two is worn"
            )
            ask = "enter the sizes as new, or try a new valve in this guide"
            return _reason(clearance, Verdict.UNSURE, text, ask)
    if not clearance.complete:
        text = f"{clearance.said} is not complete: {clearance.last.reason}"
        ask = "measure the places of guide and stem that are missing"
        return _reason(clearance, Verdict.UNSURE, text, ask)
    if clearance.status is Status.INDETERMINATE and (pair is None or not pair.stem_is_good()):
        text = f"{clearance.said} is too near {clearance.zone}{both}, and the stem may be the cause"
        ask = "measure guide and stem again, a ring check and a zero first"
        return _reason(clearance, Verdict.UNSURE, text, ask)
    if clearance.status is Status.NOT_ANALYZED:
        text = f"{clearance.said} has no limit, and nothing else judges the stem"
        return _reason(clearance, Verdict.UNSURE, text, "enter the engine maker's figure")
    return None


def _reason(
    clearance: Judged, verdict: Verdict, text: str, next_: str, act: Act | None = None
) -> Reason:
    return Reason(
        characteristic=clearance.about.name,
        measurement_id=clearance.last.id,
        limit=clearance.limits,
        limit_source=clearance.last.limit_source,
        text=text,
        next=next_,
        verdict=verdict,
        act=act,
    )

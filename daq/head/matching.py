"""The offer to sort the valves of a head to its guides: what it would save, and what it costs.

Never done by the tool: a person moves the valves, notes that, and measures again. A valve or a
guide that is condemned for another reason, or a pair that was lapped, stays out of it.
"""

from pydantic import BaseModel, ConfigDict

from daq.head.clearance import is_on_part
from daq.head.decide import Verdict
from daq.head.match import Matching, Pairing, Size, Zone, as_they_are, best
from daq.head.measurement import Measurement, Status
from daq.head.plan import Plan
from daq.head.pooling import pooled
from daq.head.view import RecordView

_CLEARANCES = {"guide.clearance_max", "guide.clearance_min", "guide.clearance_mean"}
_DECIMALS = 4  # as clearances are written


class PairingShown(BaseModel):
    """One valve in one guide, clearances in mm. fits: proven within the limits of that guide."""

    model_config = ConfigDict(frozen=True)

    valve: str
    guide: str
    clearance_max_mm: str
    clearance_min_mm: str
    clearance_mean_mm: str
    fits: bool


class Offer(BaseModel):
    """What sorting would save. saves: parts that need not be replaced.

    as_found, sorted_: every pair as it is, and as it would be. moves: how many valves would go
    elsewhere. kept_out: positions that do not take part, with the reason.
    """

    model_config = ConfigDict(frozen=True)

    saves: int
    parts_as_found: int
    parts_sorted: int
    moves: int
    as_found: tuple[PairingShown, ...]
    sorted_: tuple[PairingShown, ...]
    kept_out: dict[str, str]
    text: str


def matching_offer(plan: Plan, view: RecordView) -> Offer:
    """The best sorting of the valves that may be moved, beside the head as it is."""
    takes = [m for m in view.measurements if m.status is not Status.VOID and not m.superseded]
    kept_out: dict[str, str] = {}
    stems, bores, zones = [], [], {}
    for position in plan.head.positions:
        why = _why_not(view, takes, position)
        stem = _size(plan, takes, position, "valve.stem_diameter")
        bore = _size(plan, takes, position, "guide.diameter")
        zone = _zone(takes, position)
        if why or stem is None or bore is None or zone is None:
            kept_out[position] = why or "guide and stem are not both measured whole, with limits"
            continue
        stems.append(stem)
        bores.append(bore)
        zones[position] = zone
    before = as_they_are(stems, bores, zones)
    after = best(stems, bores, zones)
    return Offer(
        saves=before.parts_replaced - after.parts_replaced,
        parts_as_found=before.parts_replaced,
        parts_sorted=after.parts_replaced,
        moves=after.moved,
        as_found=tuple(_shown(pairing) for pairing in before.pairings),
        sorted_=tuple(_shown(pairing) for pairing in after.pairings),
        kept_out=kept_out,
        text=_text(before, after),
    )


def _why_not(view: RecordView, takes: list[Measurement], position: str) -> str:
    """Why the pair at this position cannot be part of a sorting; "" when it can."""
    on_seat = [w.act for w in view.reworks if (w.position, w.part) == (position, "seat")]
    if on_seat[-1:] == ["lapped"]:
        return "valve and seat were lapped together and stay together"
    for decision in view.decisions:
        if decision.position != position or decision.part not in {"valve", "guide"}:
            continue
        for reason in decision.reasons:
            if reason.characteristic in _CLEARANCES:
                continue
            gone = decision.part == "valve" and reason.verdict is Verdict.REPLACE
            new = reason.act is not None and (reason.act.part, reason.act.what) == (
                "guide",
                "renewed",
            )
            if gone or new:
                return f"the {decision.part} is condemned anyway: {reason.characteristic}"
    whole = [m for m in takes if m.position == position and m.characteristic in _CLEARANCES]
    if any(not clearance.complete for clearance in whole):
        return "its clearance is not complete"
    return ""


def _size(plan: Plan, takes: list[Measurement], position: str, name: str) -> Size | None:
    step = plan.step(name)
    mine = [
        take
        for take in takes
        if (take.position, take.characteristic) == (position, name) and is_on_part(plan, take)
    ]
    places = [place for place in pooled(mine) if place.complete and place.agree]
    if step is None or not set(step.places) <= {place.place for place in places}:
        return None
    values = [place.value for place in places]
    return Size(
        position=position,
        smallest_mm=min(values),
        largest_mm=max(values),
        mean_mm=sum(values) / len(values),
        u_mm=max(place.u for place in places),
    )


def _zone(takes: list[Measurement], position: str) -> Zone | None:
    limits = {
        m.characteristic: m.limits
        for m in takes
        if m.position == position and m.characteristic in _CLEARANCES
    }
    most, least = limits.get("guide.clearance_max"), limits.get("guide.clearance_min")
    if most is None or least is None or most.upper is None or least.lower is None:
        return None
    return Zone(least_mm=float(least.lower), most_mm=float(most.upper))


def _shown(pairing: Pairing) -> PairingShown:
    return PairingShown(
        valve=pairing.valve,
        guide=pairing.guide,
        clearance_max_mm=f"{pairing.clearance_max_mm:.{_DECIMALS}f}",
        clearance_min_mm=f"{pairing.clearance_min_mm:.{_DECIMALS}f}",
        clearance_mean_mm=f"{pairing.clearance_mean_mm:.{_DECIMALS}f}",
        fits=pairing.fits,
    )


def _text(before: Matching, after: Matching) -> str:
    saves = before.parts_replaced - after.parts_replaced
    if not saves:
        return "Sorting the valves to other guides would save no part; leave them where they are."
    moved = "; ".join(
        f"valve {pairing.valve} into guide {pairing.guide}"
        for pairing in after.pairings
        if pairing.valve != pairing.guide
    )
    return (
        f"Sorted to other guides the valves would need {after.parts_replaced} parts replaced "
        f"instead of {before.parts_replaced}: {moved}. Each moved valve needs its seat contact "
        "renewed (reface and cut, then recess, fitted height and leak again). Nothing is moved in "
        "this record: note each moved valve as 'exchanged', and it is measured again in its new "
        "place."
    )

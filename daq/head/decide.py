"""Decisions: accept, rework, replace, unsure or not measured, each with its reasons.

A part is accepted only when everything the plan asks of it was measured and nothing is in doubt.
"Not measured" and "not sure" are answers of their own and never become accept. Takes of one place
are judged together (`deciding.judged`); what a value that is proven out asks for is in
`deciding.of_valve` and its neighbours.
"""

from collections.abc import Iterator, Sequence

from daq.head.characteristic import Part, characteristic
from daq.head.clearance import is_on_part
from daq.head.deciding import lacking, of_guide, of_head, of_seat, of_spring, of_valve
from daq.head.deciding.here import Found, Here, is_makers
from daq.head.deciding.judged import Doubt, Judged
from daq.head.deciding.outcome import Act, Decision, Reason, Verdict
from daq.head.deciding.settling import OFF_THE_PLAN, settles
from daq.head.deciding.valve_in_guide import reasons_of_pair
from daq.head.history import History
from daq.head.layout import HEAD
from daq.head.measurement import Measurement, Status
from daq.head.plan import Plan, Step, Target

__all__ = ["WHEN_OUT", "Act", "Decision", "Reason", "Verdict", "decisions"]

# What a value that is proven out means for its part, and what to do.
WHEN_OUT = {
    **of_head.WHEN_OUT,
    **of_valve.WHEN_OUT,
    **of_guide.WHEN_OUT,
    **of_seat.WHEN_OUT,
    **of_spring.WHEN_OUT,
}
# The worst reason decides, and stands first.
_SEVERITY = (
    Verdict.REPLACE,
    Verdict.REWORK,
    Verdict.NOT_MEASURED,
    Verdict.UNSURE,
    Verdict.ACCEPT,
)
_NOBODY_YET = History()
# Diameters are judged through the clearance of the pair; without one, nothing judges them.
_JUDGED_BY_PAIR = ("valve.stem_diameter", "guide.diameter")


def decisions(
    plan: Plan, standing: Sequence[Measurement], history: History = _NOBODY_YET
) -> list[Decision]:
    """A decision for every part of every position that the plan speaks of.

    standing: the measurements that count, derived ones among them. history: what was worked on
    and what was left out.
    """
    parts = list(dict.fromkeys(step.about.part for step in plan.steps))
    return [
        _decide(here, part)
        for position in (HEAD, *plan.head.positions)
        for here in [Here.of(plan, position, standing, history)]
        for part in parts
        if (part == "head") == (position == HEAD)
    ]


def _decide(here: Here, part: Part) -> Decision:
    found = sorted(_reasons(here, part), key=lambda reason: _SEVERITY.index(reason.verdict))
    found = found or [_nothing_judges(here, part)]
    verdict = found[0].verdict
    reasons = [r for r in found if verdict is Verdict.ACCEPT or r.verdict is not Verdict.ACCEPT]
    return Decision(position=here.position, part=part, decision=verdict, reasons=tuple(reasons))


def _reasons(here: Here, part: Part) -> Iterator[Reason]:
    for step in here.plan.steps:
        if step.about.part != part:
            continue
        yield from lacking.reasons(here, step)
        for each in here.all(step.characteristic):
            reason = _judged(here, step, each)
            if reason is not None:
                yield reason
    if part == "valve":
        yield from reasons_of_pair(here)


def _judged(here: Here, step: Step, found: Judged) -> Reason | None:
    """What this place says of its part; None when it says nothing (no limit and none needed)."""
    if found.last.value is None and not found.complete:
        return None if lacking.is_lacking(here, step, found.place) else _unsure(found)
    if found.about.name == "valve.recess" and found.limits is not None and not is_makers(found):
        text = (
            f"{found.said}: {found.last.limit_source} is not the engine maker's figure, and a "
            "recess is never judged by another"
        )
        return _reason(found, Found(Verdict.UNSURE, "enter the engine maker's figure"), text)
    proven = found.status in {Status.PASS, Status.FAIL}
    if not proven and not all(is_on_part(here.plan, take) for take in found.takes):
        return _reason(found, Found(Verdict.UNSURE, OFF_THE_PLAN), _off_the_plan(here, step, found))
    match found.status:
        case Status.FAIL:
            rule = WHEN_OUT[found.about.name]
            return _reason(found, rule(here, found), f"{found.said} is {found.proven}")
        case Status.PASS if found.complete:
            text = f"{found.said} is {found.proven}{_voided_before(here, found)}"
            return _reason(found, Found(Verdict.ACCEPT, ""), text)
        case Status.INDETERMINATE | Status.PASS:
            return _unsure(found)
        case _ if not found.complete:
            return _unsure(found)
        case _ if characteristic(step.characteristic).needs_limit or _stands_alone(here, step):
            text = f"{found.said} has no limit to be judged by"
            return _reason(found, Found(Verdict.UNSURE, "enter the engine maker's figure"), text)
        case _:
            return None


def _off_the_plan(here: Here, step: Step, found: Judged) -> str:
    odd = ", ".join(
        f"{take.value} {take.unit}" for take in found.takes if not is_on_part(here.plan, take)
    )
    if step.nominal_mm is None:
        return f"{found.said}: {odd} was taken without a setting ring, so it is no diameter"
    return (
        f"{found.said}: {odd} lies outside {step.nominal_mm} ± {step.window_mm} mm, where the plan "
        "expects it, and nothing is worked out of it"
    )


def _nothing_judges(here: Here, part: Part) -> Reason:
    """The reason of a part of which everything was measured and nothing could be judged."""
    asked = [step.characteristic for step in here.plan.steps if step.about.part == part]
    return Reason(
        characteristic=asked[0],
        measurement_id=None,
        limit=None,
        limit_source=None,
        text=f"nothing the plan asks of the {part} has a limit ({', '.join(asked)})",
        next="enter the engine maker's figure",
        verdict=Verdict.UNSURE,
    )


def _stands_alone(here: Here, step: Step) -> bool:
    """Whether a diameter without a limit has no clearance to be judged by either."""
    return step.characteristic in _JUDGED_BY_PAIR and here.plan.step("guide.clearance_max") is None


def _voided_before(here: Here, found: Judged) -> str:
    """How often it was taken before: a take is counted, and a good one after many says so."""
    target = Target(found.about.name, found.position, found.place)
    voided = here.history.voided.get(target, 0)
    return f"; take {found.last.take}, {voided} before it voided" if voided else ""


def _unsure(found: Judged) -> Reason:
    match found.doubt:
        case Doubt.CONTRADICTING:
            seen = ", ".join(str(take.value) for take in found.takes)
            text = f"{found.said}: its takes contradict each other ({seen} {found.about.unit})"
        case Doubt.CONTESTED:
            text = f"{found.said}: an incomplete take beside a complete one says otherwise"
        case Doubt.INCOMPLETE:
            text = f"{found.said} is not complete: {found.last.reason or 'not enough was seen'}"
        case Doubt.NONE:
            text = f"{found.said} is too near {found.zone} to prove either way"
    return _reason(found, Found(Verdict.UNSURE, settles(found)), text)


def _reason(found: Judged, answer: Found, text: str) -> Reason:
    return Reason(
        characteristic=found.about.name,
        place=found.place,
        measurement_id=found.last.id,
        limit=found.limits,
        limit_source=found.last.limit_source,
        text=text,
        next=answer.next,
        verdict=answer.verdict,
        act=answer.act,
    )

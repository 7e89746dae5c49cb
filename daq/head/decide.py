"""Decisions: accept, rework, replace, unsure or not measured, each with its reasons.

A part is accepted only when everything the plan asks of it was measured and nothing is in doubt.
"Not measured" and "not sure" are answers of their own and never become accept.
"""

from collections.abc import Sequence
from enum import StrEnum

from pydantic import BaseModel, ConfigDict

from daq.head.characteristic import Part, characteristic
from daq.head.layout import HEAD
from daq.head.measurement import Limits, Measurement, Status
from daq.head.plan import Plan, Step


class Verdict(StrEnum):
    """The five decisions for a part."""

    ACCEPT = "accept"
    REWORK = "rework"
    REPLACE = "replace"
    UNSURE = "unsure"
    NOT_MEASURED = "not measured"


class Reason(BaseModel):
    """Why a part got its decision: the measurement, the limit it met, and what to do next."""

    model_config = ConfigDict(frozen=True)

    characteristic: str
    measurement_id: str | None
    limit: Limits | None
    limit_source: str | None
    text: str
    next: str


class Decision(BaseModel):
    """The decision for one part at one position."""

    model_config = ConfigDict(frozen=True)

    position: str
    part: Part
    decision: Verdict
    reasons: tuple[Reason, ...]


# What a value that is proven out means for its part, and what to do. Sources of the rules:
# runout: a bent valve is never straightened (common practice, no source); stem wear and guide
# wear: TM 9-2815-225-34&P step 14; recess: TM 5-3810-306-34 (new valve in the same seat first).
_WHEN_OUT: dict[str, tuple[Verdict, str]] = {
    "valve.stem_runout": (Verdict.REPLACE, "replace the valve; a bent valve is not straightened"),
    "valve.stem_diameter": (Verdict.REPLACE, "replace the valve"),
    "guide.diameter": (Verdict.REWORK, "renew the guide, then measure guide and seat again"),
    "guide.clearance_max": (
        Verdict.REWORK,
        "try the worse part new: a new valve in this guide, or renew the guide; measure again",
    ),
    "guide.clearance_min": (
        Verdict.REWORK,
        "ream the guide to the least clearance, clean it, measure again",
    ),
    "valve.recess": (
        Verdict.REWORK,
        "too deep: try a new valve in the same seat, then a new insert; too proud: cut the seat",
    ),
}
_SEVERITY = (Verdict.REPLACE, Verdict.REWORK, Verdict.NOT_MEASURED, Verdict.UNSURE)


def decisions(plan: Plan, standing: Sequence[Measurement]) -> list[Decision]:
    """A decision for every part of every position that the plan speaks of.

    standing: the measurements that count, derived ones among them.
    """
    parts = list(dict.fromkeys(step.about.part for step in plan.steps))
    return [
        _decide(plan, position, part, [m for m in standing if m.position == position])
        for position in (HEAD, *plan.head.positions)
        for part in parts
        if (part == "head") == (position == HEAD)
    ]


def _decide(plan: Plan, position: str, part: Part, here: Sequence[Measurement]) -> Decision:
    found: list[tuple[Verdict, Reason]] = []
    for step in plan.steps:
        if step.about.part != part:
            continue
        values = [m for m in here if m.characteristic == step.characteristic]
        found.extend(_missing(step, values))
        whole = {m.place for m in values if m.complete}
        found.extend(each for m in values if (each := _judged(step, m, contested=m.place in whole)))
    verdict = next(
        (grade for grade in _SEVERITY if any(grade is each for each, _ in found)), Verdict.ACCEPT
    )
    reasons = [
        reason
        for grade, reason in found
        if verdict is Verdict.ACCEPT or grade is not Verdict.ACCEPT
    ]
    return Decision(position=position, part=part, decision=verdict, reasons=tuple(reasons))


def _missing(step: Step, values: Sequence[Measurement]) -> list[tuple[Verdict, Reason]]:
    """Reasons for the places of this step that nobody has measured."""
    seen = {m.place for m in values if m.value is not None}
    lacking = [place for place in step.places if place not in seen]
    if not lacking:
        return []
    if len(lacking) == len(step.places):
        text = f"{step.characteristic} is not measured"
    else:
        text = f"{step.characteristic} is not measured at " + "; ".join(map(str, lacking))
    limit = step.limit or step.limit_intake or step.limit_exhaust
    reason = Reason(
        characteristic=step.characteristic,
        measurement_id=None,
        limit=None,
        limit_source=None if limit is None else limit.said_by,
        text=text,
        next="measure it",
    )
    return [(Verdict.NOT_MEASURED, reason)]


def _judged(step: Step, m: Measurement, *, contested: bool) -> tuple[Verdict, Reason] | None:
    """What this value says of its part; None when it says nothing (no limit and none needed).

    contested: a complete take of the same place stands beside it. An incomplete one alone then
    condemns no part; it is a reason for doubt until it is voided or taken again.
    """

    def reason(text: str, next_: str) -> Reason:
        return Reason(
            characteristic=m.characteristic,
            measurement_id=m.id,
            limit=m.limits,
            limit_source=m.limit_source,
            text=text,
            next=next_,
        )

    said = said_of(m)
    match m.status:
        case Status.FAIL if contested and not m.complete:
            text = f"{said} was not complete, and a complete take beside it says otherwise"
            return Verdict.UNSURE, reason(text, "void the one that is wrong, or take it again")
        case Status.FAIL:
            verdict, next_ = _WHEN_OUT.get(m.characteristic, (Verdict.REWORK, "see the plan"))
            return verdict, reason(f"{said} is proven outside {_zone(m.limits)}", next_)
        case Status.INDETERMINATE:
            why = m.reason or f"{said} is too near {_zone(m.limits)} to prove either way"
            return Verdict.UNSURE, reason(why, "measure again, or with a better gauge")
        case Status.PASS:
            return Verdict.ACCEPT, reason(f"{said} is proven within {_zone(m.limits)}", "")
        case _ if not m.complete:
            return Verdict.UNSURE, reason(m.reason or f"{said} is incomplete", "measure again")
        case _ if characteristic(step.characteristic).needs_limit:
            text = f"{said} has no limit to be judged by"
            return Verdict.UNSURE, reason(text, "enter the engine maker's figure")
        case _:
            return None


def said_of(m: Measurement) -> str:
    """The value in words, with its uncertainty; a recess always with deep or proud."""
    if m.value is None:
        return f"{m.characteristic} (nothing seen)"
    size = f"{m.value} {m.unit}"
    if m.characteristic == "valve.recess":
        size = f"{abs(m.value)} {m.unit} {'proud' if m.value < 0 else 'deep'}"
    doubt = "" if m.uncertainty is None else f" ± {m.uncertainty}"
    return f"{m.characteristic} {size}{doubt}"


def _zone(limits: Limits | None) -> str:
    if limits is None:
        return "no limit"
    if limits.lower is None:
        return f"at most {limits.upper}"
    if limits.upper is None:
        return f"at least {limits.lower}"
    return f"{limits.lower} to {limits.upper}"

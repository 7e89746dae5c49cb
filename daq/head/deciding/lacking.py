"""What nobody has measured, or not since the part was worked on, or left out with a reason."""

from collections.abc import Iterator

from daq.head.deciding.here import Here
from daq.head.deciding.outcome import Act, Reason, Verdict
from daq.head.history import LeftOut
from daq.head.place import Place
from daq.head.plan import Target
from daq.head.ruling import ruling
from daq.head.step import Step

_NEW_PART = {"head", "valve", "guide", "seat", "spring"}


def reasons(here: Here, step: Step) -> Iterator[Reason]:
    """Reasons for the places of this step that nobody has measured."""
    without = [place for place in step.places if is_lacking(here, step, place)]
    if not without:
        return
    left_out = {place: _left_out(here, step, place) for place in without}
    for place in [place for place in without if left_out[place] is not None]:
        said = left_out[place]
        if said is not None:
            yield _skipped(here, step, place, said)
    open_places = [place for place in without if left_out[place] is None]
    if open_places:
        yield _reason(here, step, open_places[0], _text(here, step, open_places), "measure it")


def is_lacking(here: Here, step: Step, place: Place | None) -> bool:
    """Whether no value stands for that place."""
    return all(
        found.place != place or found.value is None for found in here.all(step.characteristic)
    )


def _left_out(here: Here, step: Step, place: Place | None) -> LeftOut | None:
    return here.history.left_out.get(Target(step.characteristic, here.position, place))


def _text(here: Here, step: Step, places: list[Place | None]) -> str:
    name = step.characteristic
    at = "" if len(places) == len(step.places) else f" at {'; '.join(map(str, places))}"
    work = here.history.last_work(here.position, name)
    if work is not None:
        where = "" if work.position == here.position else f" ({work.position})"
        done = work.what if work.act in work.what else f"{work.act}: {work.what}"
        return f"{name}{at} is not measured again since the {work.part}{where} was {done}"
    target = Target(name, here.position, places[0])
    if here.history.voided.get(target):
        return f"{name}{at} is not measured again since a take of it was voided"
    if step.about.capture is None:
        return f"{name} cannot be worked out until guide and stem are measured"
    return f"{name}{at} is not measured"


def _skipped(here: Here, step: Step, place: Place | None, said: LeftOut) -> Reason:
    at = "" if place is None else f" ({place})"
    by = f" by {said.person}" if said.person else ""
    text = f"{step.characteristic}{at} was left out{by}: {said.reason}"
    if said.because == "scrap" and step.about.part in _NEW_PART:
        part = step.about.part
        reason = _reason(here, step, place, f"{text} (scrap already)", f"replace the {part}")
        act = (
            None
            if part == "head"
            else Act(part=part, what="renewed" if part in {"guide", "seat"} else "replaced")
        )
        return reason.model_copy(update={"verdict": Verdict.REPLACE, "act": act})
    if said.because == "missing":
        return _reason(here, step, place, f"{text} (missing)", "find it or order it; then measure")
    return _reason(here, step, place, text, "measure it")


def _reason(here: Here, step: Step, place: Place | None, text: str, next_: str) -> Reason:
    held = ruling(here.plan, Target(step.characteristic, here.position, place))
    return Reason(
        characteristic=step.characteristic,
        place=place,
        measurement_id=None,
        limit=None,
        limit_source=None if held is None else held.said_by,
        text=text,
        next=next_,
        verdict=Verdict.NOT_MEASURED,
    )

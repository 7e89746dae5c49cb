"""The list of work: what has to be done to a head, in the order of the trade.

Guides before seats, because the pilot that carries cutter and seat gauge sits in the guide; seats
before recess, fitted height and leak (NIMI theory p. 68; TM 10-3930-621-34 p. 3-8). The order is
held by reasons: a note says what would have to be done twice, nobody is locked out.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Literal, get_args

from pydantic import BaseModel, ConfigDict

from daq.head.catalogue.about import Part, Stage
from daq.head.characteristic import CATALOGUE
from daq.head.decide import Act, Decision, Reason, Verdict
from daq.head.layout import HEAD
from daq.head.matching import Offer
from daq.head.measurement import Measurement, Status
from daq.head.order_notes import order_notes
from daq.head.rework import WORK
from daq.head.view import RecordView

Kind = Literal["do", "measure", "settle"]

_STAGE_OF_ACT: dict[tuple[str, str], Stage] = {
    ("head", "cleaned"): "cleaning",
    ("head", "welded"): "crack check",
    ("head", "skimmed"): "head face",
    ("seat", "lapped"): "leak test",
    ("spring", "shimmed"): "fitted height",
}
_STAGE_OF_PART: dict[Part, Stage] = {
    "head": "head face",
    "guide": "guide",
    "valve": "valve",
    "seat": "seat",
    "spring": "spring",
    "assembly": "assembly",
}
STAGES: tuple[Stage, ...] = get_args(Stage)


class WorkItem(BaseModel):
    """One thing to do at one part.

    kind: `do` is work on the part, `measure` what nobody has measured, `settle` what is unsure.
    act: the work, by the words in which it is noted when it is done. text: what to do. reasons:
    why, each naming the measurement, the limit and its source. again: what has to be measured
    again after it.
    """

    model_config = ConfigDict(frozen=True)

    stage: Stage
    position: str
    part: str
    kind: Kind
    decision: Verdict
    act: Act | None
    text: str
    reasons: tuple[str, ...]
    measurement_ids: tuple[str, ...]
    again: tuple[str, ...]


class WorkList(BaseModel):
    """The work of a job. notes: where the order of doing would have something done twice. offer:
    what sorting the valves to other guides would save, where it would; nobody has moved them."""

    model_config = ConfigDict(frozen=True)

    number: str
    verdict: Verdict
    items: tuple[WorkItem, ...]
    notes: tuple[str, ...]
    offer: str | None = None


def work_list(view: RecordView, offer: Offer | None = None) -> WorkList:
    """Everything that has to be done, stage by stage, position by position."""
    measured = _standing(view)
    items = [item for decision in view.decisions for item in _items(decision, measured)]
    positions = list(dict.fromkeys(decision.position for decision in view.decisions))
    kinds: tuple[Kind, ...] = ("do", "settle", "measure")
    items.sort(
        key=lambda item: (
            STAGES.index(item.stage),
            positions.index(item.position),
            kinds.index(item.kind),
        )
    )
    return WorkList(
        number=view.job.number,
        verdict=view.verdict,
        items=tuple(items),
        notes=tuple(order_notes(view.decisions, measured)),
        offer=offer.text if offer is not None and offer.saves else None,
    )


def _standing(view: RecordView) -> list[Measurement]:
    return [m for m in view.measurements if m.status is not Status.VOID and not m.superseded]


def _items(decision: Decision, measured: list[Measurement]) -> Iterator[WorkItem]:
    by_kind: dict[Kind, list[Reason]] = {}
    for reason in decision.reasons:
        kind = _KIND.get(reason.verdict)
        if kind is not None:
            by_kind.setdefault(kind, []).append(reason)
    doing = by_kind.get("do", [])
    if decision.decision is Verdict.REPLACE:
        # A new part is measured anew; what else is said of the old one is of no use any more.
        yield _item(decision, "do", [r for r in doing if r.verdict is Verdict.REPLACE], measured)
        return
    for group in _by_act(doing):
        yield _item(decision, "do", group, measured)
    for group in _by_next(by_kind.get("settle", [])):
        yield _item(decision, "settle", group, measured)
    for group in _by_stage(by_kind.get("measure", [])):
        yield _item(decision, "measure", group, measured)


_KIND: dict[Verdict, Kind] = {
    Verdict.REPLACE: "do",
    Verdict.REWORK: "do",
    Verdict.NOT_MEASURED: "measure",
    Verdict.UNSURE: "settle",
}


def _by_act(reasons: Iterable[Reason]) -> Iterable[list[Reason]]:
    return _grouped(reasons, lambda r: str(r.act) if r.act else f"{r.characteristic}: {r.next}")


def _by_next(reasons: Iterable[Reason]) -> Iterable[list[Reason]]:
    return _grouped(reasons, lambda r: f"{r.characteristic}: {r.next}")


def _by_stage(reasons: Iterable[Reason]) -> Iterable[list[Reason]]:
    return _grouped(reasons, lambda r: CATALOGUE[r.characteristic].stage)


def _grouped(reasons: Iterable[Reason], key: Callable[[Reason], str]) -> Iterable[list[Reason]]:
    groups: dict[str, list[Reason]] = {}
    for reason in reasons:
        groups.setdefault(key(reason), []).append(reason)
    return groups.values()


def _item(
    decision: Decision, kind: Kind, reasons: list[Reason], measured: Sequence[Measurement]
) -> WorkItem:
    act = next((reason.act for reason in reasons if reason.act is not None), None)
    done = act if kind == "do" else None
    return WorkItem(
        stage=_stage(done, reasons[0]),
        position=decision.position,
        part=decision.part,
        kind=kind,
        decision=decision.decision,
        act=done,
        text=_text(kind, reasons),
        reasons=tuple(dict.fromkeys(reason.text for reason in reasons)),
        measurement_ids=tuple(
            dict.fromkeys(r.measurement_id for r in reasons if r.measurement_id is not None)
        ),
        again=() if done is None else tuple(_again(done, decision.position, measured)),
    )


def _text(kind: Kind, reasons: Sequence[Reason]) -> str:
    """What to do, each thing said once; what is to be measured with its names."""
    about: dict[str, dict[str, None]] = {}
    for reason in reasons:
        about.setdefault(reason.next, {})[reason.characteristic] = None
    if kind == "measure":
        return "; ".join(f"{what}: {', '.join(names)}" for what, names in about.items())
    return "; ".join(about)


def _stage(act: Act | None, reason: Reason) -> Stage:
    """The stage of the work itself: a valve that lies too deep may be work on its seat."""
    if act is None:
        return CATALOGUE[reason.characteristic].stage
    return _STAGE_OF_ACT.get((act.part, act.what)) or _STAGE_OF_PART[act.part]


def _again(act: Act, position: str, measured: Sequence[Measurement]) -> Iterator[str]:
    """What was measured and will not be true any more once that is done."""
    work = WORK[act.part, act.what]
    lost = {
        m.characteristic
        for m in measured
        if m.characteristic in work.voids and (work.everywhere or m.position in {position, HEAD})
    }
    return (name for name in CATALOGUE if name in lost)

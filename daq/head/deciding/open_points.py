"""What is open in a record: unsure, or not measured, each with what would close it."""

from collections.abc import Iterable

from pydantic import BaseModel, ConfigDict

from daq.head.deciding.outcome import Decision, Verdict


class OpenPoint(BaseModel):
    """One thing that is open: settles says what would close it."""

    model_config = ConfigDict(frozen=True)

    position: str
    part: str
    decision: Verdict
    characteristic: str
    text: str
    settles: str


def open_points(decisions: Iterable[Decision]) -> tuple[OpenPoint, ...]:
    """Everything unsure or not measured, each reason by itself."""
    return tuple(
        OpenPoint(
            position=decision.position,
            part=decision.part,
            decision=decision.decision,
            characteristic=reason.characteristic,
            text=reason.text,
            settles=reason.next,
        )
        for decision in decisions
        if decision.decision in {Verdict.UNSURE, Verdict.NOT_MEASURED}
        for reason in decision.reasons
    )

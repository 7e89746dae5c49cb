"""What a decision is made of: five verdicts, and the reasons that go with them."""

from enum import StrEnum

from pydantic import BaseModel, ConfigDict

from daq.head.characteristic import Part
from daq.head.measurement import Limits
from daq.head.place import Place


class Verdict(StrEnum):
    """The five decisions for a part."""

    ACCEPT = "accept"
    REWORK = "rework"
    REPLACE = "replace"
    UNSURE = "unsure"
    NOT_MEASURED = "not measured"


class Act(BaseModel):
    """The work that answers a reason, by the words in which work is noted; see `head.rework`."""

    model_config = ConfigDict(frozen=True)

    part: Part
    what: str


class Reason(BaseModel):
    """Why a part got its decision: the measurement, the limit it met, and what to do next.

    verdict: what this reason alone would decide. act: the work it asks for, where it asks for
    one. next: what to do; for what is unsure, what would settle it.
    """

    model_config = ConfigDict(frozen=True)

    characteristic: str
    place: Place | None = None
    measurement_id: str | None
    limit: Limits | None
    limit_source: str | None
    text: str
    next: str
    verdict: Verdict = Verdict.UNSURE
    act: Act | None = None


class Decision(BaseModel):
    """The decision for one part at one position."""

    model_config = ConfigDict(frozen=True)

    position: str
    part: Part
    decision: Verdict
    reasons: tuple[Reason, ...]

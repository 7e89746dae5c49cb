"""What may stand in the bodies that are sent to us; anything else is refused by name."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    WithJsonSchema,
)

from daq.head.layout import Bank
from daq.head.plan import Place
from daq.head.quantity import decimal_from

_ONE_LINE = r"^[^\x00-\x1f\x7f]*$"
_LINES = r"^[^\x00-\x08\x0b-\x1f\x7f]*$"

Name = Annotated[str, Field(min_length=1, max_length=80, pattern=_ONE_LINE)]
Person = Annotated[str, Field(min_length=1, max_length=80, pattern=_ONE_LINE)]
Reason = Annotated[str, Field(min_length=1, max_length=500, pattern=_LINES)]
Remark = Annotated[str, Field(max_length=1000, pattern=_LINES)]


# Of the errors a validator raises pydantic turns ValueErrors into answers, TypeErrors into faults
# of ours; hence the two exceptions to TRY004.


def _exact(value: Any, info: ValidationInfo) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, str | int | Decimal):
        raise ValueError("has to be a decimal number, like '-0.025'")  # noqa: TRY004
    return decimal_from(str(value), info.field_name or "the number")


def _is_text(value: Any) -> Any:
    if not isinstance(value, str):
        raise ValueError("has to be a time like '2026-11-25T09:30:00Z'")  # noqa: TRY004
    return value


def _in_utc(value: datetime) -> str:
    try:
        utc = value.astimezone(UTC)
    except OverflowError:
        raise ValueError("lies outside the years that have a date") from None
    return utc.isoformat(timespec="milliseconds").replace("+00:00", "Z")


Exact = Annotated[
    Decimal,
    BeforeValidator(_exact),
    WithJsonSchema(
        {"type": ["string", "number"], "examples": ["-0.025"], "description": "an exact decimal"}
    ),
]
Time = Annotated[
    AwareDatetime,
    BeforeValidator(_is_text),
    AfterValidator(_in_utc),
    WithJsonSchema({"type": "string", "format": "date-time"}),
]


class Asked(BaseModel):
    """Every body: no key that we do not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class JobAsked(Asked):
    """A job to open. cylinder_one: which end of the head it is. head_serial: stamped on it.
    missing: parts that did not come with it. bank, numbers: which of two banks the head is of, and
    its cylinders front to rear, instead of what the plan says."""

    number: Name
    plan: Name
    customer: Remark | None = None
    complaint: Remark | None = None
    cylinder_one: Remark | None = None
    person: Person | None = None
    head_serial: Remark | None = None
    missing: Remark | None = None
    bank: Bank | None = None
    numbers: Annotated[tuple[Annotated[int, Field(ge=1, le=24)], ...], Field(max_length=12)] = ()


class UpAsked(Asked):
    """What to put up on the bench; without a place, the first one not measured yet."""

    characteristic: Name
    position: Name
    place: Place | None = None


class MeasurementAsked(Asked):
    """A value that a person keyed in or other software sends.

    gauge: a gauge or tool of the bench by its name, or a kind of tool (caliper, feeler leaves …).
    confirmed: somebody says that a value is right that was asked about. held_s: how long a timed
    look was watched.
    """

    characteristic: Name
    position: Name
    place: Place | None = None
    value: Exact
    unit: Name
    gauge: Name | None = None
    person: Person | None = None
    measured_at: Time | None = None
    came: Literal["keyed", "sent"]
    note: Remark | None = None
    confirmed: Annotated[bool, Field(strict=True)] = False
    held_s: Exact | None = None


class VoidAsked(Asked):
    """Why a measurement does not count."""

    reason: Reason
    person: Person | None = None


class AgainAsked(Asked):
    """Take again what was just taken, or is being taken."""

    person: Person | None = None


class SkipAsked(Asked):
    """What is left out, and why: what is up, or everything that all the names given here fit.

    because: missing (not there to be measured), scrap (it is replaced whatever it measures), or
    other.
    """

    reason: Reason
    because: Literal["missing", "scrap", "other"] = "other"
    characteristic: Name | None = None
    part: Name | None = None
    position: Name | None = None
    place: Place | None = None
    person: Person | None = None


class OrderAsked(Asked):
    """In which order to go on: by characteristic (one set-up of a gauge at a time) or by part."""

    by: Literal["characteristic", "part"]
    person: Person | None = None


class AnswerAsked(Asked):
    """The answer to a look. held_s: how long a timed one was watched, in seconds."""

    passed: Annotated[bool, Field(strict=True)]
    note: Remark = ""
    person: Person | None = None
    held_s: Exact | None = None


class ReworkAsked(Asked):
    """What was done to a part, in words. act: the same as one of the words the record knows
    (reamed, renewed, refaced, replaced, cut, lapped …); without it, `what` is searched for one."""

    position: Name
    part: Name
    what: Reason
    act: Name | None = None
    person: Person | None = None


class TemperatureAsked(Asked):
    """Temperatures of part and gauge in degrees Celsius.

    of: the head (with its guides and seats) or the valves; null for whatever is measured. ring_c:
    of the setting ring, where it is not that of the gauge. confirmed: somebody says that what was
    asked about is right.
    """

    part_c: Exact
    gauge_c: Exact
    person: Person | None = None
    of: Literal["head", "valve"] | None = None
    ring_c: Exact | None = None
    confirmed: Annotated[bool, Field(strict=True)] = False


class ZeroAsked(Asked):
    """What a gauge shows in a ring; without shown_mm, what it shows now. confirmed: somebody says
    that it is in the ring, where that was asked."""

    gauge: Name
    ring: Name
    shown_mm: Exact | None = None
    person: Person | None = None
    confirmed: Annotated[bool, Field(strict=True)] = False


class SignAsked(Asked):
    """Who closes the job. reason: for signing although parts are unsure; it covers all of them."""

    person: Person
    reason: Reason | None = None

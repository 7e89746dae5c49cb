"""`Measurement`: the value with everything that must stand beside it, and its status."""

from decimal import ROUND_UP, Decimal
from enum import StrEnum
from typing import Any

from pydantic import BaseModel, ConfigDict

from daq.head.limits import Limit
from daq.head.plan import Place
from daq.head.quantity import rounded
from daq.metrology.conformity import Conformity, judge
from daq.metrology.measured import COVERAGE_K, Measured


class Status(StrEnum):
    """What is known of a value against its limit; the first four as in QIF (ISO 23952)."""

    PASS = "PASS"  # noqa: S105 - a status, not a password
    FAIL = "FAIL"
    INDETERMINATE = "INDETERMINATE"
    NOT_ANALYZED = "NOT_ANALYZED"
    VOID = "VOID"


class Came(StrEnum):
    """How a value came into the record."""

    CAPTURED = "captured"
    KEYED = "keyed"
    SENT = "sent"
    DERIVED = "derived"


class Limits(BaseModel):
    """The ends of the zone a value was judged against, in its unit."""

    model_config = ConfigDict(frozen=True)

    lower: Decimal | None
    upper: Decimal | None


class Measurement(BaseModel):
    """One value of a record. value and uncertainty are in `unit`; uncertainty is expanded by `k`.

    calibration_due: the day until which the gauge is calibrated, as it stood when it measured.
    reference: the ring or block its zero was taken on, for a gauge that compares.
    superseded: it counts for nothing any more, because its part was worked on since, or because
    another take of its place was voided and none was taken since.
    take: 1, 2, 3 … for the same place of the same part. complete: False when there was not
    enough to say; the value is then what was seen. reason: why, in one sentence. detail: how the
    value came about (proof of a turn, budget, rejected readings). inputs: the measurements a
    derived value was computed from.
    """

    model_config = ConfigDict(frozen=True)

    id: str
    position: str
    characteristic: str
    place: Place | None = None
    value: Decimal | None
    unit: str
    uncertainty: Decimal | None
    k: Decimal
    status: Status
    complete: bool
    came: Came
    gauge: str | None = None
    gauge_serial: str | None = None
    certificate: str | None = None
    calibration_due: str | None = None
    person: str | None = None
    measured_at: str
    limits: Limits | None = None
    limit_source: str | None = None
    reference: str | None = None
    trace_sha256: str | None = None
    void_reason: str | None = None
    superseded: bool = False
    take: int = 1
    reason: str = ""
    warnings: tuple[str, ...] = ()
    note: str | None = None
    detail: dict[str, Any] = {}
    inputs: tuple[str, ...] = ()


def status_of(
    value: float | None,
    u: float | None,
    limit: Limit | None,
    *,
    complete: bool,
    lower_bound: bool = False,
    upper_bound: bool = False,
) -> Status:
    """The status of `value` with standard uncertainty `u` against `limit` (ISO 14253-1).

    An incomplete value is never PASS. It may still be FAIL where what was seen can only get
    worse: `lower_bound` says the true value is at least this (an unfinished turn), `upper_bound`
    that it is at most this.
    """
    if limit is None:
        return Status.NOT_ANALYZED
    if value is None or u is None:
        return Status.INDETERMINATE
    lower = None if limit.lower is None else float(limit.lower)
    upper = None if limit.upper is None else float(limit.upper)
    if complete:
        match judge(value, u, lower, upper):
            case Conformity.PROVEN_IN:
                return Status.PASS
            case Conformity.PROVEN_OUT:
                return Status.FAIL
            case Conformity.NEITHER:
                return Status.INDETERMINATE
    too_much = lower_bound and judge(value, u, None, upper) is Conformity.PROVEN_OUT
    too_little = upper_bound and judge(value, u, lower, None) is Conformity.PROVEN_OUT
    return Status.FAIL if too_much or too_little else Status.INDETERMINATE


def shown(measured: Measured | None, step: float) -> tuple[Decimal | None, Decimal | None]:
    """Value and expanded uncertainty as they are written down.

    The value gets one guard digit below the gauge's `step`; the uncertainty is rounded up at the
    same digit, so that rounding never makes it smaller.
    """
    if measured is None:
        return None, None
    value = rounded(measured.value, step)
    uncertainty = Decimal(repr(measured.expanded)).quantize(value, ROUND_UP)
    return value, uncertainty


def standard_u(uncertainty: Decimal | None, k: Decimal = Decimal(str(COVERAGE_K))) -> float | None:
    """The standard uncertainty behind an expanded one."""
    return None if uncertainty is None else float(uncertainty) / float(k)


def limits_shown(limit: Limit | None) -> Limits | None:
    """The ends of `limit` as they stand beside a value."""
    return None if limit is None else Limits(lower=limit.lower, upper=limit.upper)


def plain(value: Any) -> Any:
    """`value` with every float spelled as a decimal string, for a body that is hashed.

    Nine significant digits: more than any gauge, fewer than the noise of float arithmetic.
    """
    if isinstance(value, bool) or value is None or isinstance(value, int | str):
        return value
    if isinstance(value, float):
        return format(Decimal(f"{value:.9g}").normalize(), "f")
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return str(value)

"""What people and software ask of a job at the bench; each enters the bench as a reading does."""

from typing import Annotated

from fastapi import APIRouter, Depends, status

from api.rest.answers import Written, written
from api.rest.asked import (
    AgainAsked,
    AnswerAsked,
    MeasurementAsked,
    OrderAsked,
    ReworkAsked,
    SignAsked,
    SkipAsked,
    TemperatureAsked,
    UpAsked,
    VoidAsked,
    ZeroAsked,
)
from api.rest.body import ExactRoute
from api.rest.keyed_back import CheckedShown, checked_shown
from api.rest.once import Once, once
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.bench import (
    Answer,
    Change,
    KeyIn,
    Order,
    Press,
    PutUp,
    Rework,
    Sign,
    Skip,
    TakeAgain,
    Temperature,
    Void,
    Zero,
)
from daq.head.changes import Reworked
from daq.head.fitting import fitting
from daq.head.instrument import Instrument
from daq.head.keeping import checked_target
from daq.head.kept import measurement_of
from daq.head.keyed import Keyed, checked
from daq.head.leaving_out import Which
from daq.head.measurement import Came, Measurement
from daq.head.plan import Target

router = APIRouter(route_class=ExactRoute, responses=RESPONSES, tags=["at the bench"])
At = Annotated[Service, Depends(service_of)]
Sent = Annotated[Once, Depends(once)]


@router.post("/jobs/{job}/measurements", status_code=status.HTTP_201_CREATED)
async def measure(job: str, asked: MeasurementAsked, service: At, sent: Sent) -> Measurement:
    """Keep a value that was keyed in or sent."""

    async def change() -> KeyIn:
        record = await service.run.read(lambda journal: journal.record(job))
        target = checked_target(record.plan, asked.characteristic, asked.position, asked.place)
        return KeyIn(job, keyed_of(service, target, asked))

    return measurement_of((await sent.entries(change))[0])


@router.post("/jobs/{job}/measurements/check")
async def check(job: str, asked: MeasurementAsked, service: At) -> CheckedShown:
    """Show a value back as it would be kept, and what has to be answered first. Keeps nothing."""
    record = await service.run.read(lambda journal: journal.record(job))
    target = checked_target(record.plan, asked.characteristic, asked.position, asked.place)
    found = checked(record, keyed_of(service, target, asked))
    return checked_shown(found, record.plan.unit, fitting(record, target))


@router.post("/jobs/{job}/measurements/{measurement}/void")
async def void(job: str, measurement: str, asked: VoidAsked, sent: Sent) -> Written:
    """Say that a measurement does not count, and why. It stays in the record."""
    return await _done(sent, Void(job, measurement, asked.reason, asked.person))


@router.post("/jobs/{job}/up")
async def up(job: str, asked: UpAsked, sent: Sent) -> Written:
    """Put one characteristic up; the stream of a gauge that may measure it is captured into it."""
    return await _done(sent, PutUp(job, asked.characteristic, asked.position, asked.place))


@router.post("/jobs/{job}/again")
async def again(job: str, sent: Sent, asked: AgainAsked | None = None) -> Written:
    """Void what was just taken, or drop what is being taken, and take it again."""
    return await _done(sent, TakeAgain(job, None if asked is None else asked.person))


@router.post("/jobs/{job}/skip")
async def skip(job: str, asked: SkipAsked, sent: Sent) -> Written:
    """Leave out what is up, a value, a part or a characteristic; the record says so and why."""
    which = Which(asked.characteristic, asked.part, asked.position, asked.place)
    return await _done(sent, Skip(job, asked.reason, asked.person, asked.because, which))


@router.post("/jobs/{job}/order")
async def order(job: str, asked: OrderAsked, sent: Sent) -> Written:
    """Go on by characteristic or by part."""
    return await _done(sent, Order(job, asked.by, asked.person))


@router.post("/jobs/{job}/answer")
async def answer(job: str, asked: AnswerAsked, sent: Sent) -> Written:
    """Answer the look that is up."""
    return await _done(sent, Answer(job, **asked.model_dump()))


@router.post("/jobs/{job}/rework")
async def rework(job: str, asked: ReworkAsked, sent: Sent) -> Written:
    """Say that a part was worked on; what that makes untrue has to be measured again."""
    return await _done(sent, Rework(job, Reworked(**asked.model_dump())))


@router.post("/jobs/{job}/temperature")
async def temperature(job: str, asked: TemperatureAsked, sent: Sent) -> Written:
    """Note the temperatures of part and gauge."""
    return await _done(sent, Temperature(job, **asked.model_dump()))


@router.post("/jobs/{job}/zero")
async def zero(job: str, asked: ZeroAsked, sent: Sent) -> Written:
    """Note what a gauge shows in a setting ring."""
    return await _done(sent, Zero(job, **asked.model_dump()))


@router.post("/jobs/{job}/sign")
async def sign(job: str, asked: SignAsked, sent: Sent) -> Written:
    """Close the job; nothing is written into it after that. What is open is listed with it."""
    return await _done(sent, Sign(job, asked.person, asked.reason))


@router.post("/bench/press")
async def press(sent: Sent) -> Written:
    """Go on: the part was changed, or what is in doubt is to be kept all the same."""
    return await _done(sent, Press())


async def _done(sent: Once, change: Change) -> Written:
    async def made() -> Change:
        return change

    return written(await sent.entries(made))


def keyed_of(service: Service, target: Target, asked: MeasurementAsked) -> Keyed:
    """What was asked for, with the gauge it names."""
    return Keyed(
        target=target,
        value=asked.value,
        unit=asked.unit,
        came=Came(asked.came),
        gauge=None if asked.gauge is None else _gauge(service, asked.gauge),
        person=asked.person,
        measured_at=None if asked.measured_at is None else str(asked.measured_at),
        note=asked.note,
        confirmed=asked.confirmed,
        held_s=asked.held_s,
    )


def _gauge(service: Service, name: str) -> Instrument:
    """The gauge or tool of that name; one that is not of this bench is known by its name only."""
    found = service.instruments.get(name) or service.tools.get(name)
    return found or Instrument(name, serial="", resolution_mm=0.0)

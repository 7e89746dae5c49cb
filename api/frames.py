"""What is shown of bench and gauges while they work: plain JSON, made when asked for."""

import math
from decimal import Decimal
from typing import Any

from api.rest.answers import GaugeShown, RingShown
from daq.bench import BenchProgress
from daq.capture.base import Landmark, Progress
from daq.head.caution import DEFER
from daq.head.characteristic import characteristic
from daq.head.instrument import Instrument, Ring
from daq.head.plan import Target
from daq.head.zeroes import takes_zero
from drivers.gauge import Gauge
from drivers.reading import Reading

# A length is kept on a grid of a millionth of a millimetre; more decimals would be noise.
DECIMALS_MAX = 6


def progress_shown(progress: BenchProgress) -> dict[str, Any]:
    """One look at the bench."""
    return {
        "phase": progress.phase.value,
        "job": progress.job,
        "number": progress.number,
        "target": None if progress.target is None else target_shown(progress.target),
        "kind": None if progress.target is None else characteristic(progress.target[0]).capture,
        "where": progress.where,
        "cautions": [{"text": each.text, "source": each.source} for each in progress.cautions],
        "defer": DEFER if progress.cautions else "",
        "gauge": progress.gauge,
        "stage": progress.stage,
        "capture": None if progress.capture is None else _capture_shown(progress.capture),
        "message": progress.message,
        "not_taken": progress.not_taken,
        "asks": progress.asks,
        "coming": [target_shown(each) for each in progress.coming],
        "remaining": progress.remaining,
        "last": progress.last,
    }


def target_shown(target: Target) -> dict[str, Any]:
    """What is measured, at which valve, where on the part."""
    place = None if target.place is None else target.place.model_dump(mode="json")
    return {
        "characteristic": target.characteristic,
        "position": target.position,
        "place": place,
    }


def gauge_shown(gauge: Gauge, instrument: Instrument) -> GaugeShown:
    """How a gauge stands now."""
    last = gauge.last
    return GaugeShown(
        name=gauge.spec.name,
        serial=instrument.serial,
        port=gauge.spec.port,
        profile=gauge.spec.profile.name,
        state=gauge.state.value,
        trouble=gauge.trouble,
        note=gauge.note,
        measures=sorted(instrument.measures),
        takes_zero=takes_zero(instrument),
        resolution_mm=str(_plain(instrument.resolution_mm)),
        value=None if last is None else value_shown(last, instrument),
        unit=None if last is None else last.unit.value,
        said=None if last is None else last.state.value,
        readings=gauge.readings,
        rejected=gauge.wire.rejected_messages,
        not_understood=repr(gauge.wire.last_rejected)[2:-1],
        reconnects=gauge.link.reconnects,
        lost=gauge.link.overflows,
    )


def ring_shown(ring: Ring) -> RingShown:
    """A setting ring."""
    return RingShown(
        name=ring.name, size_mm=str(_plain(ring.size_mm)), certificate=ring.certificate
    )


def value_shown(reading: Reading, instrument: Instrument) -> str | None:
    """The number of a reading with the decimals of its gauge; None where it carries none."""
    if not math.isfinite(reading.value):
        return None
    return f"{reading.value:.{decimals_of(instrument)}f}"


def decimals_of(instrument: Instrument) -> int:
    """How many decimals the gauge's step needs."""
    exponent = _plain(instrument.resolution_mm).as_tuple().exponent
    return min(DECIMALS_MAX, max(0, -exponent)) if isinstance(exponent, int) else 0


def _plain(number: float) -> Decimal:
    return Decimal(format(Decimal(repr(number)).normalize(), "f"))


def _capture_shown(capture: Progress) -> dict[str, Any]:
    finite = capture.value is not None and math.isfinite(capture.value)
    return {
        "hint": capture.hint.value,
        "share": round(capture.share, 3),
        "value": round(capture.value, DECIMALS_MAX)
        if finite and capture.value is not None
        else None,
        "turns": None if capture.turns is None else round(capture.turns, 2),
        "done": capture.done,
        "angle": capture.angle.value,
        "landmarks": [_landmark_shown(each) for each in capture.landmarks],
        "since_s": capture.since_s,
        "until_s": capture.until_s,
    }


def _landmark_shown(one: Landmark) -> list[Any]:
    """[time, value or None, turns or None, whether the value rests on it]."""
    value = round(one.value, DECIMALS_MAX) if math.isfinite(one.value) else None
    turns = None if one.turns is None else round(one.turns, 4)
    return [one.t_s, value, turns, one.counts]

"""The pretend gauges of the demonstration, each on its own pseudo serial port."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from daq.head.instrument import Instrument, Ring
from drivers.gauge import Gauge, GaugeSpec
from drivers.pretend.gauge import Habits, PretendGauge
from drivers.pretend.port import PretendPort
from drivers.pretend.voice import Voice
from drivers.profile import SourceUnit, load_profile

RING = Ring("ring 7 (invented)", size_mm=7.0012, certificate="R-221 (invented)")
STEP = "0.001"
IDLE_HZ = 1.0


@dataclass(frozen=True)
class Kind:
    """One pretend gauge: who it is, how it behaves, where it hangs free. step: of its display, in
    its unit; unit: None for millimetres, which is what the profile says."""

    instrument: Instrument
    habits: Habits
    step: str = STEP
    unit: SourceUnit | None = None


KINDS = (
    Kind(
        Instrument(
            "runout indicator",
            "G-1037",
            0.001,
            0.001,
            frozenset({"valve.stem_runout", "valve.face_runout"}),
        ),
        Habits(rate_hz=50.0, noise_mm=0.0003, free_mm=-1.2, idle_rate_hz=IDLE_HZ),
    ),
    Kind(
        Instrument("micrometer", "G-1042", 0.001, 0.001, frozenset({"valve.stem_diameter"})),
        Habits(rate_hz=20.0, noise_mm=0.0003, free_mm=11.5, idle_rate_hz=IDLE_HZ),
    ),
    Kind(
        Instrument("bore gauge", "G-1055", 0.001, 0.001, frozenset({"guide.diameter"})),
        Habits(rate_hz=25.0, noise_mm=0.0004, free_mm=0.9, idle_rate_hz=IDLE_HZ),
    ),
    Kind(
        Instrument("seat gauge", "G-1058", 0.001, 0.002, frozenset({"seat.runout"})),
        Habits(rate_hz=50.0, noise_mm=0.0003, free_mm=-1.5, idle_rate_hz=IDLE_HZ),
    ),
    Kind(
        Instrument("bridge indicator", "G-1061", 0.001, 0.002, frozenset({"valve.recess"})),
        Habits(rate_hz=20.0, noise_mm=0.0005, free_mm=-6.0, idle_rate_hz=IDLE_HZ),
    ),
    Kind(
        Instrument("vacuum gauge", "G-1080", 0.1, 0.2, frozenset({"seat.leak"})),
        Habits(rate_hz=5.0, noise_mm=0.1, free_mm=0.0, idle_rate_hz=IDLE_HZ),
        step="0.1",
        unit=SourceUnit.MBAR,
    ),
)


@dataclass(frozen=True)
class Pretend:
    """A pretend gauge with the gauge that listens to it."""

    instrument: Instrument
    speaker: PretendGauge
    listener: Gauge


def plugged_in(
    folder: Path, rng: np.random.Generator, now: Callable[[], float]
) -> dict[str, Pretend]:
    """Every pretend gauge, speaking into a port in `folder`, by the name of the gauge."""
    profile = load_profile("plain-line")
    found = {}
    for kind in KINDS:
        name = kind.instrument.name
        port = PretendPort(folder / name.replace(" ", "-"))
        speaker = PretendGauge(port, Voice(profile, kind.step), kind.habits, rng, now)
        spec = GaugeSpec(
            name,
            str(port.path),
            profile,
            unit=kind.unit,
            resolution=kind.instrument.resolution_mm,
        )
        found[name] = Pretend(kind.instrument, speaker, Gauge(spec, now))
    return found

"""What the pretend person's hands do with a part at a gauge that is plugged in."""

import numpy as np

from api.demo.gauges import Pretend
from api.demo.parts import Part
from daq.head.plan import Place, Plan, Target
from drivers.pretend.bore import RockedBore
from drivers.pretend.hand import HandStyle
from drivers.pretend.motion import HeldStill, Motion
from drivers.pretend.vacuum import PumpedPort
from drivers.pretend.valve import Section, SpunValve

# The invented bore gauge shows zero at this size; the ring is a little larger.
BORE_ZERO_MM = 7.0
TURNED = ("valve.stem_runout", "valve.face_runout", "seat.runout")


def act(
    plan: Plan, target: Target, stage: int, part: Part, pretend: Pretend, rng: np.random.Generator
) -> Motion:
    """The motion that measures `target` on `part`; stage: 0 on the face, 1 on the valve."""
    off = gauge_error(pretend, rng)
    match target.characteristic:
        case "valve.stem_diameter":
            return HeldStill(part.stem_mm[_placed(target)] + off, rng)
        case "guide.diameter":
            bore_mm = part.bore_mm[_placed(target)] + off
            return RockedBore(bore_mm, BORE_ZERO_MM, rng, swings=40, lost=1)
        case "valve.recess":
            return HeldStill(off - (part.recess_mm if stage else 0.0), rng)
        case "seat.leak":
            step = plan.step("seat.leak")
            volume_l = 1.0 if step is None or step.volume_l is None else float(step.volume_l)
            return PumpedPort(part.leak_mbar_l_s, volume_l, rng)
        case _:
            return _spun(_section(target, part), off, rng)


def gauge_error(pretend: Pretend, rng: np.random.Generator) -> float:
    """Another error every time the gauge is set down, as large as its limit allows for."""
    limit = pretend.instrument.error_limit_mm or 0.0
    return float(rng.normal(0, limit / 3**0.5))


def _section(target: Target, part: Part) -> Section:
    return {
        "valve.stem_runout": part.stem,
        "valve.face_runout": part.face,
        "seat.runout": part.seat,
    }[target.characteristic]


def _spun(section: Section, off_mm: float, rng: np.random.Generator) -> Motion:
    return SpunValve(
        section.scaled_to(max(section.runout_mm + off_mm, 0.002)),
        HandStyle(rng.choice(list(HandStyle))),
        rng,
        level_mm=float(rng.uniform(-0.2, 0.2)),
        lint=int(rng.integers(0, 3)),
        drift_mm_per_min=float(rng.normal(0, 0.001)),
    )


def _placed(target: Target) -> Place:
    if target.place is None:
        raise ValueError(f"{target.characteristic} has no place")
    return target.place

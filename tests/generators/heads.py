"""Invented heads with random faults, and the truth about them.

Imports nothing of the product: the numbers below are an invented engine maker's limits, written
here once as the plan that is handed over and once as the truth that only the test knows. A good
part lies anywhere within its limits, right up to them; a fault lies beyond them by at least a
fraction of what its gauge may be off. Every gauge is off by the same amount within one head, and
rounds to its step.
"""

import math
import random
from dataclasses import dataclass, field

SOURCE = "invented maker's figure"
DEPTHS, DIRECTIONS = ("6", "22", "38"), ("along", "across")
FAULTS_MOST = 6


@dataclass(frozen=True)
class Size:
    """What a characteristic may be, and the gauge it is measured with; lengths in mm, loads in N.

    usual: the end that a good part is never near by nature (a runout is not below 0). error:
    half-width of what the gauge is off, of the value where error_share is given.
    """

    part: str
    lower: float | None
    upper: float | None
    usual: float
    step: float
    error: float = 0.0
    error_share: float = 0.0
    unit: str = "mm"
    far: float = 0.3  # how far beyond its limit a fault may lie, as a share of the limit


SIZES = {
    "head.height": Size("head", 119.6, None, 120.05, 0.01, 0.01, far=0.004),
    "guide.protrusion": Size("guide", 11.7, 12.3, 12.0, 0.01, 0.01, far=0.06),
    "valve.stem_runout": Size("valve", None, 0.03, 0.0, 0.001, 0.001, far=8.0),
    "valve.face_runout": Size("valve", None, 0.05, 0.0, 0.001, 0.001, far=4.0),
    "valve.margin": Size("valve", 0.75, None, 1.6, 0.01, 0.02),
    "valve.length": Size("valve", 104.25, None, 104.6, 0.01, 0.02, far=0.01),
    "seat.runout": Size("seat", None, 0.05, 0.0, 0.001, 0.001, far=4.0),
    "seat.width": Size("seat", 1.0, 2.0, 1.5, 0.05, 0.03),
    "valve.recess": Size("valve", 0.6, 1.4, 1.0, 0.01, 0.01),
    "spring.free_length": Size("spring", 45.6, None, 47.0, 0.01, 0.03, far=0.1),
    "spring.squareness": Size("spring", None, 1.6, 0.0, 0.01, 0.02),
    "spring.bow": Size("spring", None, 1.5, 0.0, 0.01, 0.02),
    "spring.fitted_height": Size("spring", 37.5, 38.5, 38.0, 0.01, 0.05, far=0.04),
    "spring.coil_gap": Size("spring", 1.0, None, 3.0, 0.01, 0.02),
    "seat.leak": Size("seat", None, 0.2, 0.0, 0.001, 0.0, 0.10, "mbar.l/s", far=3.0),
}
LOADS = {"38.0": ("fitted", 260.0, 0.95), "29.0": ("open", 520.0, 0.90)}
LOOKS = {
    "head.clean": "head",
    "head.cracks": "head",
    "valve.look": "valve",
    "valve.free_movement": "valve",
    "valve.rebound": "valve",
    "spring.washer": "assembly",
    "seal.fitted": "assembly",
    "stem.oiled": "assembly",
    "cotter.new": "assembly",
    "cotter.seated": "assembly",
}
FLATNESS_MM, FLATNESS_LINES = 0.10, ("lengthwise, left", "lengthwise, right", "across", "diagonal")
MOST_MM, LEAST_MM = {"I": 0.100, "E": 0.130}, {"I": 0.020, "E": 0.040}
NEW_BORE_MM = {"I": (0.030, 0.045), "E": (0.050, 0.065)}  # above the stem's nominal
NEW_STEM_MM = (-0.010, 0.0)
MICRO = (0.001, 0.001)  # step and error of micrometer and bore gauge
_OF_TWO = {"least_share": 0.5}  # a clearance is off by two gauges


@dataclass
class Value:
    """One number as it is keyed in. place: as in a plan. step, error: of its gauge, 0 if none."""

    characteristic: str
    position: str
    place: dict[str, str] | None
    value: str
    unit: str
    step: float = 0.0
    error: float = 0.0


@dataclass
class Head:
    """A plan, what was measured, and what is wrong: (position, part) with names of faults."""

    plan: dict
    values: list[Value]
    faults: dict[tuple[str, str], list[str]] = field(default_factory=dict)


def invented_head(seed: int) -> Head:
    """The head of that seed: one to six cylinders, two to four valves each, 0 to 6 faults."""
    chance = random.Random(f"head {seed}")
    cylinders = chance.choice((1, 2, 3, 4, 4, 6))
    layout = {
        "cylinders": cylinders,
        "intake": chance.choice((1, 1, 2)),
        "exhaust": chance.choice((1, 1, 2)),
    }
    positions = [
        f"{n}{side}{letter}"
        for n in range(1, cylinders + 1)
        for side, count in (("I", layout["intake"]), ("E", layout["exhaust"]))
        for letter in ([""] if count == 1 else "ab")
    ]
    stem_mm = chance.choice((5.5, 6.0, 7.0, 8.0, 9.0))
    head = Head(_plan(layout, stem_mm), [])
    wrong = _faults(chance, positions, head)
    measure = _Gauges(chance, head)
    _head_itself(chance, measure, wrong)
    for position in positions:
        _pair(chance, measure, position, stem_mm, wrong)
        _sizes(chance, measure, position, wrong)
    chance.shuffle(head.values)
    return head


def _faults(chance, positions, head):
    """Which characteristics are out, at most one a characteristic and position."""
    names = [*SIZES, *LOOKS, "head.flatness", "spring.load", "worn guide", "bell mouth"]
    names += ["worn stem", "tight guide"] * 2 + ["valve.stem_runout", "worn guide"]
    wrong = set()
    for _ in range(chance.randint(0, FAULTS_MOST)):
        name = chance.choice(names)
        position = "head" if name.startswith("head.") else chance.choice(positions)
        pair = {"worn guide", "bell mouth", "worn stem", "tight guide"}
        if name in pair and any((position, other) in wrong for other in pair):
            continue
        wrong.add((position, name))
        head.faults.setdefault((position, _part(name)), []).append(name)
    return wrong


def _part(name):
    if name in SIZES:
        return SIZES[name].part
    if name in LOOKS:
        return LOOKS[name]
    return {"worn stem": "valve", "head.flatness": "head", "spring.load": "spring"}.get(
        name, "guide"
    )


class _Gauges:
    """What is written down of a true value: the gauge is off by a fixed amount, and rounds."""

    def __init__(self, chance, head):
        self.chance, self.head, self._off = chance, head, {}

    def keep(self, name, position, place, truth, step, error, unit="mm", *, share=0.0):
        off = self._off.setdefault(name, self.chance.uniform(-1.0, 1.0))
        shown = round((truth + off * (error + share * abs(truth))) / step) * step
        digits = max(0, -math.floor(math.log10(step) + 1e-9))
        self.head.values.append(
            Value(name, position, place, f"{shown:.{digits}f}", unit, step, error)
        )

    def look(self, name, position, good):
        self.head.values.append(Value(name, position, None, "1" if good else "0", "1"))


def _beyond(chance, size_limit, step, error, far, *, least_share=0.15):
    """How far a fault lies beyond its limit: from a fraction of what the gauge may be off, to far.

    At the default share a gauge that is off as far as it may be in the wrong direction comes just
    short of making the fault look proven good.
    """
    least = least_share * (step + error)
    return least * (max(far * abs(size_limit), 2 * least) / least) ** chance.random()


def _one(chance, size, *, bad):
    """A true value within the limits of `size`, or beyond one of them."""
    ends = [end for end in (size.lower, size.upper) if end is not None]
    if bad:
        end = chance.choice(ends)
        error = size.error + size.error_share * abs(end)
        by = _beyond(chance, end, size.step, error, size.far)
        return max(end - by, -5.0) if end == size.lower else end + by
    low = size.lower if size.lower is not None else size.usual
    high = size.upper if size.upper is not None else size.usual
    return chance.uniform(min(low, high), max(low, high))


def _head_itself(chance, measure, wrong):
    for name in ("head.clean", "head.cracks"):
        measure.look(name, "head", ("head", name) not in wrong)
    bad = chance.choice(FLATNESS_LINES) if ("head", "head.flatness") in wrong else None
    for line in FLATNESS_LINES:
        size = Size("head", None, FLATNESS_MM, 0.0, 0.01, 0.01, far=2.0)
        truth = _one(chance, size, bad=line == bad)
        measure.keep("head.flatness", "head", {"spot": line}, truth, 0.01, 0.01)
    size = SIZES["head.height"]
    truth = _one(chance, size, bad=("head", "head.height") in wrong)
    measure.keep("head.height", "head", None, truth, size.step, size.error)


def _sizes(chance, measure, position, wrong):
    for name, size in SIZES.items():
        if size.part == "head":
            continue
        truth = _one(chance, size, bad=(position, name) in wrong)
        measure.keep(
            name, position, None, truth, size.step, size.error, size.unit, share=size.error_share
        )
    weak = chance.choice(list(LOADS)) if (position, "spring.load") in wrong else None
    for length, (_, new_n, share) in LOADS.items():
        size = Size("spring", new_n * share, None, new_n * 1.03, 1.0, 0.0, 0.01, "N")
        truth = _one(chance, size, bad=length == weak)
        measure.keep(
            "spring.load", position, {"length_mm": length}, truth, 1.0, 0.0, "N", share=0.01
        )
    for name, part in LOOKS.items():
        if part != "head":
            measure.look(name, position, (position, name) not in wrong)


def _pair(chance, measure, position, nominal_mm, wrong):
    """Six bores and six stem diameters whose clearances are good, or wrong in the asked way."""
    side = position.rstrip("ab")[-1]
    most, least = MOST_MM[side], LEAST_MM[side]
    names = ("worn guide", "bell mouth", "worn stem", "tight guide")
    fault = next((name for name in names if (position, name) in wrong), None)
    while True:
        stem = nominal_mm + chance.uniform(-0.030, NEW_STEM_MM[1])
        bore = nominal_mm + chance.uniform(NEW_BORE_MM[side][0] - 0.01, most)
        if fault == "worn stem":
            # Too thin even for the widest guide as new; the guide itself is as new.
            bore = nominal_mm + chance.uniform(*NEW_BORE_MM[side])
            stem = (
                nominal_mm
                + NEW_BORE_MM[side][0]
                - most
                - _beyond(chance, most, *MICRO, 0.8, **_OF_TWO)
            )
            stem -= NEW_BORE_MM[side][1] - NEW_BORE_MM[side][0]
        elif fault == "tight guide":
            bore = stem + least - _beyond(chance, least, *MICRO, 0.8, **_OF_TWO)
        elif fault == "worn guide":
            bore = stem + most + _beyond(chance, most, *MICRO, 1.0, **_OF_TWO)
        stems = [stem + chance.uniform(-0.002, 0.002) for _ in range(6)]
        bores = [bore + chance.uniform(-0.004, 0.004) for _ in range(6)]
        if fault == "bell mouth":
            bores = [min(b, stem + most - 0.01) for b in bores]
            bores[chance.choice((0, 5))] = (
                max(stems) + most + _beyond(chance, most, *MICRO, 0.5, **_OF_TWO)
            )
        loose, tight = max(bores) - min(stems), min(bores) - max(stems)
        if fault is None and not (loose <= most and tight >= least):
            continue
        if fault in {"worn guide", "worn stem", "bell mouth"} and tight < least:
            continue
        break
    places = [
        {"depth_mm": depth, "direction": direction} for depth in DEPTHS for direction in DIRECTIONS
    ]
    for place, truth in zip(places, stems, strict=True):
        measure.keep("valve.stem_diameter", position, place, truth, *MICRO)
    for place, truth in zip(places, bores, strict=True):
        measure.keep("guide.diameter", position, place, truth, *MICRO)


def _plan(layout, stem_mm):
    """The plan as it would be sent: every limit is the invented maker's."""

    def limit(lower=None, upper=None):
        ends = {"lower": lower, "upper": upper}
        found = {name: f"{end:.3f}" for name, end in ends.items() if end is not None}
        return {**found, "kind": "maker", "source": SOURCE}

    places = {"depths_mm": list(DEPTHS), "directions": list(DIRECTIONS)}
    bore_mm = stem_mm + NEW_BORE_MM["E"][1]
    steps = [
        {"characteristic": "head.clean"},
        {"characteristic": "head.cracks"},
        {
            "characteristic": "head.flatness",
            "at": [{"spot": line, "limit": limit(upper=FLATNESS_MM)} for line in FLATNESS_LINES],
        },
        {
            "characteristic": "guide.diameter",
            "nominal_mm": f"{stem_mm + NEW_BORE_MM['I'][1]:.3f}",
            "window_mm": "0.6",
            **places,
        },
        {
            "characteristic": "valve.stem_diameter",
            "nominal_mm": f"{stem_mm:.3f}",
            "window_mm": "0.6",
            **places,
        },
        {
            "characteristic": "guide.clearance_max",
            "limit_intake": limit(upper=MOST_MM["I"]),
            "limit_exhaust": limit(upper=MOST_MM["E"]),
        },
        {
            "characteristic": "guide.clearance_min",
            "limit_intake": limit(lower=LEAST_MM["I"]),
            "limit_exhaust": limit(lower=LEAST_MM["E"]),
        },
        {"characteristic": "guide.clearance_mean"},
        {
            "characteristic": "spring.load",
            "at": [
                {
                    "length_mm": length,
                    "height": height,
                    "nominal_n": f"{new_n:.0f}",
                    "limit": limit(lower=new_n * share),
                }
                for length, (height, new_n, share) in LOADS.items()
            ],
        },
    ]
    for name, size in SIZES.items():
        step = {"characteristic": name, "limit": limit(size.lower, size.upper)}
        steps.append({**step, "volume_l": "0.25"} if name == "seat.leak" else step)
    steps += [{"characteristic": name} for name in LOOKS if not name.startswith("head.")]
    assert bore_mm > stem_mm
    return {
        "name": "invented",
        "title": "An invented head",
        "source": "invented for the tests",
        "head": layout,
        "steps": steps,
    }

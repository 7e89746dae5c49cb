"""Invented heads with random faults, and the truth about them.

Imports nothing of the product: the limits (`head_limits`) are handed over as a plan and kept as the
truth that only the test knows. A good part lies anywhere within its limits, right up to them; a
fault lies beyond them by at least a fraction of what its gauge may be off. Every gauge is off by
the same amount within one head, and rounds to its step. One head in five is measured with the tools
of the trade that a person reads, one in five is in inches, one in five has no maker's figures.
"""

import math
import random
from dataclasses import dataclass, field

from tests.generators.head_limits import (
    FLATNESS_LINES,
    LOADS,
    MM_PER_INCH,
    SIZES,
    Limits,
    Size,
)

DEPTHS, DIRECTIONS = ("6", "22", "38"), ("along", "across")
FAULTS_MOST = 6
LOOKS = {
    "head.clean": "head",
    "head.cracks": "head",
    "valve.look": "valve",
    "valve.free_movement": "valve",
    "valve.rebound": "valve",
    "seat.leak_fluid": "seat",
    "spring.washer": "assembly",
    "seal.fitted": "assembly",
    "stem.oiled": "assembly",
    "cotter.new": "assembly",
    "cotter.seated": "assembly",
}
HELD_S = "600"  # longer than any fluid has to stay
# What a guide can be: too wide everywhere, at one end, in the middle, in one direction, at one
# place only, from end to end; or too tight everywhere, or at one place.
GUIDE_SHAPES = (
    *("worn guide", "bell mouth", "hourglass", "oval bore", "one wide place", "tapered bore"),
    *("tight guide", "one tight place"),
)
STEM_SHAPES = ("worn stem", "tapered stem", "oval stem", "one thin place")
NEW_STEM_MM = (-0.010, 0.0)
N_PER_LBF = 4.4482216152605
# The step of an inch gauge that is as fine as one in mm.
INCH_STEPS = {0.001: 0.00005, 0.01: 0.0005, 0.02: 0.001, 0.05: 0.002}
_OF_TWO = {"least_share": 0.5}  # a clearance is off by two gauges


@dataclass
class Value:
    """One number as it is keyed in. place: as in a plan. step, error: of its gauge in mm, 0 if
    none; tool: the kind of tool that a person read, where it was one."""

    characteristic: str
    position: str
    place: dict[str, str] | None
    value: str
    unit: str
    step: float = 0.0
    error: float = 0.0
    tool: str = ""
    held_s: str | None = None


@dataclass
class Head:
    """A plan, what was measured, and what is wrong: (position, part) with names of faults."""

    plan: dict
    values: list[Value]
    limits: Limits
    faults: dict[tuple[str, str], list[str]] = field(default_factory=dict)


def invented_head(seed: int) -> Head:
    """The head of that seed: 1 to 12 cylinders, two to five valves each, 0 to 6 faults."""
    chance = random.Random(f"head {seed}")
    cylinders = chance.choice((1, 1, 2, 2, 3, 3, 4, 4, 5, 6, 12))
    intake, exhaust = chance.choice(((1, 1), (1, 1), (2, 1), (1, 2), (2, 2), (3, 2)))
    layout = {"cylinders": cylinders, "intake": intake, "exhaust": exhaust}
    numbers = list(range(1, cylinders + 1))
    if chance.random() < 0.2:
        numbers = [2 * n for n in numbers]
        layout |= {"bank": chance.choice(("left", "right")), "numbers": numbers}
    positions = [
        f"{n}{side}{letter}"
        for n in numbers
        for side, count in (("I", intake), ("E", exhaust))
        for letter in ([""] if count == 1 else "abc"[:count])
    ]
    stem_mm = chance.choice((5.5, 6.0, 7.0, 8.0, 9.0, 11.0))
    limits = Limits(
        chance,
        stem_mm,
        guided=chance.random() < 0.2,
        inch=chance.random() < 0.2,
        read=chance.random() < 0.2,
    )
    head = Head(_plan(layout, limits), [], limits)
    wrong = _faults(chance, positions, head)
    measure = _Gauges(chance, head)
    _head_itself(chance, measure, wrong, limits)
    for position in positions:
        _pair(chance, measure, position, wrong, limits)
        _sizes(chance, measure, position, wrong, limits)
    chance.shuffle(head.values)
    return head


def side_of(position):
    """I or E."""
    return position.rstrip("abc")[-1]


def _faults(chance, positions, head):
    """Which characteristics are out, at most one a characteristic and position."""
    shapes = {*GUIDE_SHAPES, *STEM_SHAPES}
    names = [*SIZES, *LOOKS, "head.flatness", "spring.load", *GUIDE_SHAPES, *STEM_SHAPES]
    names += ["worn stem", "tight guide", "valve.stem_runout", "worn guide"]
    wrong = set()
    for _ in range(chance.randint(0, FAULTS_MOST)):
        name = chance.choice(names)
        position = "head" if name.startswith("head.") else chance.choice(positions)
        if name in shapes and any((position, other) in wrong for other in shapes):
            continue
        if (position, name) not in wrong:
            wrong.add((position, name))
            head.faults.setdefault((position, _part(name)), []).append(name)
    return wrong


def _part(name):
    if name in SIZES:
        return SIZES[name].part
    if name in LOOKS:
        return LOOKS[name]
    if name in STEM_SHAPES:
        return "valve"
    return {"head.flatness": "head", "spring.load": "spring"}.get(name, "guide")


class _Gauges:
    """What is written down of a true value: the gauge is off by a fixed amount, and rounds."""

    def __init__(self, chance, head):
        self.chance, self.head, self._off = chance, head, {}

    def keep(self, name, position, place, truth, size):
        off = self._off.setdefault(name, self.chance.uniform(-1.0, 1.0))
        shown = truth + off * (size.error + size.error_share * abs(truth))
        unit, step, by = size.unit, size.step, 1.0
        if self.head.limits.inch and unit == "mm":
            unit, step, by = "in", INCH_STEPS[step], MM_PER_INCH
        elif self.head.limits.inch and unit == "N":
            unit, step, by = "lbf", 0.2, N_PER_LBF
        shown = round(shown / by / step) * step
        digits = max(0, math.ceil(-math.log10(step) - 1e-9))
        tool = size.kind if self.head.limits.read else ""
        step_mm = step * by if size.unit == "mm" else 0.0
        self.head.values.append(
            Value(name, position, place, f"{shown:.{digits}f}", unit, step_mm, size.error, tool)
        )

    def look(self, name, position, good):
        held_s = HELD_S if name == "seat.leak_fluid" else None
        answer = "1" if good else "0"
        self.head.values.append(Value(name, position, None, answer, "1", held_s=held_s))


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


def _head_itself(chance, measure, wrong, limits):
    for name in ("head.clean", "head.cracks"):
        measure.look(name, "head", ("head", name) not in wrong)
    bad = chance.choice(FLATNESS_LINES) if ("head", "head.flatness") in wrong else None
    for line in FLATNESS_LINES:
        size = limits.size("head.flatness")
        truth = _one(chance, size, bad=line == bad)
        measure.keep("head.flatness", "head", {"spot": line}, truth, size)
    size = limits.size("head.height")
    truth = _one(chance, size, bad=("head", "head.height") in wrong)
    measure.keep("head.height", "head", None, truth, size)


def _sizes(chance, measure, position, wrong, limits):
    for name in SIZES:
        size = limits.size(name, side_of(position))
        if size.part != "head":
            truth = _one(chance, size, bad=(position, name) in wrong)
            measure.keep(name, position, None, truth, size)
    weak = chance.choice(list(LOADS)) if (position, "spring.load") in wrong else None
    for length, (_, new_n, share) in LOADS.items():
        size = Size("spring", new_n * share, None, new_n * 1.03, 1.0, 0.0, 0.01, "N")
        size = Size(**{**vars(size), "kind": "spring tester"})
        truth = _one(chance, size, bad=length == weak)
        measure.keep("spring.load", position, {"length_mm": length}, truth, size)
    for name, part in LOOKS.items():
        if part != "head":
            measure.look(name, position, (position, name) not in wrong)


def _pair(chance, measure, position, wrong, limits):
    """Six bores and six stem diameters whose clearances are good, or wrong in the asked way."""
    side = side_of(position)
    shapes = (*GUIDE_SHAPES, *STEM_SHAPES)
    fault = next((name for name in shapes if (position, name) in wrong), None)
    most, least = limits.most_mm[side], limits.least_mm[side]
    stems, bores = _diameters(chance, fault, most, least, limits)
    if (
        fault in GUIDE_SHAPES
        and "tight" not in fault
        and _stem_is_worn_too(stems, bores, most, least)
    ):
        measure.head.faults.setdefault((position, "valve"), []).append("worn pair")
    of_stem, of_bore = limits.diameters()
    places = [
        {"depth_mm": depth, "direction": direction} for depth in DEPTHS for direction in DIRECTIONS
    ]
    for name, truths, (step, error), kind in (
        ("valve.stem_diameter", stems, of_stem, "outside micrometer"),
        ("guide.diameter", bores, of_bore, "bore gauge"),
    ):
        size = Size("", None, None, 0.0, step, error, kind=kind)
        for place, truth in zip(places, truths, strict=True):
            measure.keep(name, position, place, limits.stem_mm + truth, size)


def new_bore_mm(most, least):
    """The band of a guide as new, above the nominal stem."""
    return least + 0.010, min(least + 0.025, most - 0.005)


def _stem_is_worn_too(stems, bores, most, least):
    """Whether a stem in a guide that is too wide is no better: too thin for a guide as new, or
    worn more than the guide where a new valve alone would do as well."""
    as_new = new_bore_mm(most, least)[1]
    shrunk, grown = -min(stems), max(bores) - as_new
    return as_new + shrunk > most or (max(bores) <= most and shrunk >= grown)


def _diameters(chance, fault, most, least, limits):
    """Six stems and six bores, above the nominal diameter of the stem.

    A place is a depth and a direction: 0, 1 at the top, 2, 3 in the middle, 4, 5 at the bottom.
    """
    (step, error), (_, bore_error) = limits.diameters()
    new = new_bore_mm(most, least)

    def beyond(far):
        return _beyond(chance, most, step, (error + bore_error) / 2, far, **_OF_TWO)

    while True:
        # A good stem fits in a guide as new, right up to the most; a good guide likewise.
        stem = chance.uniform(new[1] - most, NEW_STEM_MM[1]) + chance.choice((0.0, 0.0, 0.02))
        stem = min(stem, NEW_STEM_MM[1])
        stems = [stem + chance.uniform(-0.002, 0.002) for _ in range(6)]
        bore = chance.uniform(new[0] - 0.01, most)
        bores = [bore + chance.uniform(-0.004, 0.004) for _ in range(6)]
        if fault in STEM_SHAPES:
            # Too thin even for the widest guide as new; the guide itself is as new.
            bores = [chance.uniform(*new) for _ in range(6)]
            thin = new[0] - most - beyond(0.8)
            for place in _PLACES_OF[fault](chance):
                stems[place] = thin + chance.uniform(-0.001, 0.0)
        elif fault in ("tight guide", "one tight place"):
            tight = max(stems) + least - beyond(0.8)
            for place in _PLACES_OF[fault](chance):
                bores[place] = tight - chance.uniform(0.0, 0.001)
        elif fault is not None:
            bores = [min(each, min(stems) + most - 0.002) for each in bores]
            wide = max(stems) + most + beyond(1.0)
            for place in _PLACES_OF[fault](chance):
                bores[place] = wide + chance.uniform(0.0, 0.001)
        loose, tight = max(bores) - min(stems), min(bores) - max(stems)
        if fault is None and not (loose <= most and tight >= least):
            continue
        if fault is not None and "tight" not in fault and tight < least:
            continue
        return stems, bores


def _all(_chance):
    return range(6)


def _one_end(chance):
    return chance.choice(((0, 1), (4, 5)))


def _one_direction(chance):
    return chance.choice(((0, 2, 4), (1, 3, 5)))


def _one_place(chance):
    return (chance.randrange(6),)


_PLACES_OF = {
    "worn guide": _all,
    "bell mouth": lambda chance: (chance.choice((0, 5)),),
    "hourglass": lambda _chance: (2, 3),
    "oval bore": _one_direction,
    "one wide place": _one_place,
    "tapered bore": _one_end,
    "tight guide": _all,
    "one tight place": _one_place,
    "worn stem": _all,
    "tapered stem": _one_end,
    "oval stem": _one_direction,
    "one thin place": _one_place,
}


def _plan(layout, limits):
    """The plan as it would be sent."""
    most, least = limits.most_mm, limits.least_mm
    new_bore = new_bore_mm(most["I"], least["I"])[1]
    places = {"depths_mm": list(DEPTHS), "directions": list(DIRECTIONS)}
    sizes = {"guide.diameter": limits.stem_mm + new_bore, "valve.stem_diameter": limits.stem_mm}
    steps = [{"characteristic": "head.clean"}, {"characteristic": "head.cracks"}]
    lines = [{"spot": line} for line in FLATNESS_LINES]
    if not limits.guided:
        flat = limits.said(upper=limits.size("head.flatness").upper)
        lines = [{**line, "limit": flat} for line in lines]
    steps.append({"characteristic": "head.flatness", "at": lines})
    steps += [
        {"characteristic": name, "nominal_mm": f"{mm:.3f}", "window_mm": "0.6", **places}
        for name, mm in sizes.items()
    ]
    for name, end, values in (("max", "upper", most), ("min", "lower", least)):
        step = {"characteristic": f"guide.clearance_{name}"}
        if not limits.guided:
            step["limit_intake"] = limits.said(**{end: values["I"]})
            step["limit_exhaust"] = limits.said(**{end: values["E"]})
        steps.append(step)
    steps.append({"characteristic": "guide.clearance_mean"})
    steps.append(
        {"characteristic": "spring.load", "at": [_load(limits, *e) for e in LOADS.items()]}
    )
    steps += [limits.step(name) for name in SIZES]
    steps += [{"characteristic": name} for name in LOOKS if not name.startswith("head.")]
    return {
        "name": "invented",
        "title": "An invented head",
        "source": "invented for the tests",
        "unit": "in" if limits.inch else "mm",
        "head": layout,
        "steps": steps,
    }


def _load(limits, length, about):
    height, new_n, share = about
    found = {"length_mm": length, "height": height, "nominal_n": f"{new_n:.0f}"}
    if limits.guided:
        return found
    limit = {"lower": f"{new_n * share:.3f}", "kind": "maker", "source": "invented maker's figure"}
    return {**found, "limit": limit}

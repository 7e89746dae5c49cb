"""The runout of one turn from the turning points, and its uncertainty budget.

Levels that belong to the same place of the part are averaged over the turns, drift taken off; the
runout is the highest place minus the lowest. Uncertainty after JCGM 100:2008 (GUM): type A from
the agreement between the turns, type B for what the turns have in common.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.base import Setup
from daq.capture.turn.period import Period
from daq.capture.turn.points import Points
from daq.metrology.measured import COVERAGE_K, Contribution, Evaluation, Measured

Floats = npt.NDArray[np.float64]

SAMPLING = "sampling"
# A hand presses and lifts a little: what the levels scatter beyond the noise, as one standard
# deviation before the turns themselves say better, and the weight of that guess in readings.
HAND_MM = 0.0003
HAND_SHARE = 0.004
HAND_WEIGHT = 3.0
# How well a stylus is set to its stated angle by eye (common practice, no source).
STYLUS_SETTING_DEG = 3.0
# Standard deviation of what is left of rounding when a smooth top is averaged over the steps.
ROUNDING_LEFT = 0.75
# A visit to a top falls short when it lies this many standard deviations under the best.
SHORT_SIGMAS = 2.0


@dataclass(frozen=True, slots=True)
class Runout:
    """measured: the value and its budget. per_turn_mm: each whole turn by itself."""

    measured: Measured
    per_turn_mm: tuple[float, ...]

    @property
    def unseen_mm(self) -> float:
        """Expanded uncertainty (k = 2) from what passed between the readings."""
        return COVERAGE_K * sum(line.u for line in self.measured.budget if line.name == SAMPLING)


def of_turns(points: Points, period: Period | None, setup: Setup, step_mm: float) -> Runout:
    """Runout with the repeats averaged; without a period, the span of what was seen."""
    weight = 1.0 / (points.u_mm**2 + points.loss_mm**2 + HAND_MM**2)
    if period is None:
        high, low = int(np.argmax(points.level_mm)), int(np.argmin(points.level_mm))
        groups = [np.array([high]), np.array([low])]
        level, drift = points.level_mm, 0.0
        value = float(level[high] - level[low])
        per_turn: tuple[float, ...] = ()
        scatter = np.zeros(0)
    else:
        drift = period.drift_mm_per_s
        level = points.level_mm - drift * (points.t_s - points.t_s[0])
        inner = np.array(period.inner)
        places = [inner[k :: period.size] for k in range(period.size)]
        high_first = level[inner[0]] > level[inner[1]]
        places = [
            _full_visits(level, points.u_mm, place, 1.0 if (k % 2 == 0) == high_first else -1.0)
            for k, place in enumerate(places)
        ]
        mean = [float(np.average(level[p], weights=weight[p])) for p in places]
        groups = [places[int(np.argmax(mean))], places[int(np.argmin(mean))]]
        value = max(mean) - min(mean)
        per_turn = _per_turn(level, inner, period.size)
        scatter = _scatter(level, places)
    budget = _budget(points, weight, groups, scatter, value, setup, step_mm, drift)
    cosine = math.cos(math.radians(setup.stylus_angle_deg))
    return Runout(Measured(value * cosine, "mm", budget), tuple(cosine * one for one in per_turn))


def _scatter(level: Floats, places: list[npt.NDArray[np.intp]]) -> Floats:
    """How far visits to the same place are from their mean, freed of the mean's own share."""
    again = [
        (level[place] - np.mean(level[place])) * math.sqrt(len(place) / (len(place) - 1))
        for place in places
        if len(place) > 1
    ]
    return np.concatenate([np.zeros(0), *again])


def _full_visits(
    level: Floats, u_mm: Floats, place: npt.NDArray[np.intp], side: float
) -> npt.NDArray[np.intp]:
    """The visits to one place that went all the way, as far as noise can tell.

    side: +1 at a high, -1 at a low. A visit falls short where the top passed between readings;
    none goes too far by more than noise. So those well short of the best say nothing new.
    """
    reach = side * level[place]
    surely = float(np.max(reach - u_mm[place]))
    return place[reach + SHORT_SIGMAS * u_mm[place] >= surely]


def _per_turn(level: Floats, inner: npt.NDArray[np.intp], size: int) -> tuple[float, ...]:
    """Span of each whole turn, one after the other; a turn has `size` turning points and one."""
    spans = [
        float(np.ptp(level[inner[first : first + size]]))
        for first in range(0, len(inner) - size + 1, size)
    ]
    return tuple(spans)


def _unseen(loss_mm: Floats, weight: Floats) -> float:
    """What passed between readings at one place of the part, over all its visits; mm.

    Every visit meets the top at another phase, but a fast hand is fast on every turn: half is
    taken to be common to all visits, half to average out.
    """
    share = weight / np.sum(weight)
    apart = float(np.sqrt(np.sum((share * loss_mm) ** 2)))
    common = float(np.sum(share * loss_mm))
    return 0.5 * (apart + common)


def _budget(
    points: Points,
    weight: Floats,
    groups: list[npt.NDArray[np.intp]],
    scatter: Floats,
    value_mm: float,
    setup: Setup,
    step_mm: float,
    drift_mm_per_s: float,
) -> tuple[Contribution, ...]:
    """One line a source; what the high and the low have in common cancels and is left out."""
    noise = math.sqrt(sum(float(np.mean(points.u_mm[g] ** 2)) / len(g) for g in groups))
    sampling = math.sqrt(sum(_unseen(points.loss_mm[g], weight[g]) ** 2 for g in groups))
    prior = HAND_MM**2 + (HAND_SHARE * value_mm) ** 2
    spread = (HAND_WEIGHT * prior + float(np.sum(scatter**2))) / (HAND_WEIGHT + len(scatter))
    repeat = math.sqrt(spread * sum(1.0 / len(g) for g in groups))
    apart_s = abs(float(np.mean(points.t_s[groups[0]]) - np.mean(points.t_s[groups[1]])))
    drift = abs(drift_mm_per_s) * apart_s / math.sqrt(3.0)
    angle, off = math.radians(setup.stylus_angle_deg), math.radians(STYLUS_SETTING_DEG)
    cosine = max(
        abs(math.cos(angle + off) - math.cos(angle)), abs(math.cos(angle - off) - math.cos(angle))
    )
    type_a, type_b = Evaluation.TYPE_A, Evaluation.TYPE_B
    agreed = f"{len(scatter)} levels seen again" if len(scatter) else "nothing was seen twice"
    stylus = f"stylus at {setup.stylus_angle_deg:g} deg within {STYLUS_SETTING_DEG:g} deg"
    lines = [
        Contribution("resolution", ROUNDING_LEFT * step_mm / math.sqrt(6.0), type_b, "rounding"),
        Contribution("noise", noise, type_a, "scatter of readings, averaged on each top"),
        Contribution("repeatability", repeat, type_a, agreed),
        Contribution(SAMPLING, sampling, type_b, "tops that passed between two readings"),
        Contribution("drift", drift, type_b, "drift from the highest to the lowest"),
        Contribution("cosine", value_mm * cosine / math.sqrt(3.0), type_b, stylus),
    ]
    if setup.error_limit is not None:
        lines.append(
            Contribution(
                "gauge",
                setup.error_limit / math.sqrt(3.0),
                Evaluation.TYPE_B,
                "error limit of the gauge",
            )
        )
    return tuple(lines)

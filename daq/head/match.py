"""Which valve into which guide: fewest parts replaced, then clearances nearest the middle.

Sorting worn valves to guides can save parts as long as the seat contact is renewed; lapped pairs
stay together (an engine maker's handbook: match the valve to the seat it was lapped with). The
sorting is an assignment problem; one integer holds the whole order of preference:

    cost = parts × weight of a part + squared distance from the middle × weight + moved

with weights so large that no sum of lesser terms outweighs one unit of the greater. All sums stay
below 2**53, so the solver's floats are exact.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from daq.head.layout import side_of
from daq.metrology.conformity import PROBABILITY, guard_band

if TYPE_CHECKING:
    import numpy as np

# Distances are counted in tenths of a micrometre, the last digit that is ever shown, and beyond
# half a millimetre one misfit is as bad as another (no clearance is that large).
STEP_MM = 0.0001
STEPS_MAX = 5000
# 128 pairs of the worst distance, moved or not, stay below 2**53: see the weights in `_best`.
PAIRS_MAX = 128


@dataclass(frozen=True, slots=True)
class Size:
    """One stem or one bore: its diameters in mm, and their standard uncertainty (k = 1).

    position: where it came from. The uncertainty is one gauge's and common to all its places.
    """

    position: str
    smallest_mm: float
    largest_mm: float
    mean_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True)
class Zone:
    """The clearance that is wanted at a guide, in mm: at least, and at most."""

    least_mm: float
    most_mm: float

    @property
    def middle_mm(self) -> float:
        """Halfway between least and most."""
        return (self.least_mm + self.most_mm) / 2


@dataclass(frozen=True, slots=True)
class Pairing:
    """One valve in one guide. fits: both clearances are proven within the zone (ISO 14253-1)."""

    valve: str
    guide: str
    clearance_max_mm: float
    clearance_min_mm: float
    clearance_mean_mm: float
    fits: bool


@dataclass(frozen=True, slots=True)
class Matching:
    """A whole sorting: one pairing for each guide, in the order of the guides."""

    pairings: tuple[Pairing, ...]
    off_middle_steps2: int

    @property
    def parts_replaced(self) -> int:
        """At least so many parts have to be replaced: one for every pair that does not fit."""
        return sum(not pairing.fits for pairing in self.pairings)

    @property
    def moved(self) -> int:
        """How many valves would not go back to where they came from."""
        return sum(pairing.valve != pairing.guide for pairing in self.pairings)

    @property
    def rank(self) -> tuple[int, int, int]:
        """Parts replaced, squared distance from the middle, valves moved: less is better."""
        return (self.parts_replaced, self.off_middle_steps2, self.moved)


def as_they_are(
    stems: Sequence[Size], bores: Sequence[Size], zones: Mapping[str, Zone]
) -> Matching:
    """Every valve in the guide it came from. Positions have to be the same for both."""
    return _sorted_as(stems, bores, zones, range(len(bores)))


def best(
    stems: Sequence[Size],
    bores: Sequence[Size],
    zones: Mapping[str, Zone],
    *,
    staying: Collection[str] = (),
) -> Matching:
    """The best sorting: intake valves among intake guides, exhaust among exhaust.

    stems, bores: of the same positions in the same order. zones: by the guide's position.
    staying: positions whose valve must not leave its seat (lapped pairs).
    Raises ValueError for positions that differ, or for more than PAIRS_MAX of them.
    """
    places = [bore.position for bore in bores]
    if places != [stem.position for stem in stems] or len(set(places)) < len(places):
        raise ValueError("stems and bores need the same positions in the same order, each once")
    if len(places) > PAIRS_MAX:
        raise ValueError(f"at most {PAIRS_MAX} pairs can be sorted at once, not {len(places)}")
    chosen = list(range(len(places)))
    for side in ("I", "E"):
        free = [
            number
            for number, place in enumerate(places)
            if side_of(place) == side and place not in staying
        ]
        for guide, valve in zip(free, _best(stems, bores, zones, free), strict=True):
            chosen[guide] = valve
    return _sorted_as(stems, bores, zones, chosen)


def _best(
    stems: Sequence[Size], bores: Sequence[Size], zones: Mapping[str, Zone], free: Sequence[int]
) -> list[int]:
    """For each guide in `free` the valve of the least cost."""
    if not free:
        return []
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    table = _Table.of([stems[n] for n in free], [bores[n] for n in free], zones)
    moved = 1 - np.eye(len(free), dtype=np.int64)
    weight_off = len(free) + 1
    weight_part = weight_off * (len(free) * STEPS_MAX**2 + 1)
    cost = (~table.fits) * weight_part + table.off * weight_off + moved
    guides, valves = linear_sum_assignment(cost)
    found = dict(zip(guides.tolist(), valves.tolist(), strict=True))
    return [free[found[guide]] for guide in range(len(free))]


@dataclass(frozen=True, slots=True)
class _Table:
    """Every guide (row) with every valve (column)."""

    most: "np.ndarray"
    least: "np.ndarray"
    mean: "np.ndarray"
    fits: "np.ndarray"
    off: "np.ndarray"

    @classmethod
    def of(
        cls, stems: Sequence[Size], bores: Sequence[Size], zones: Mapping[str, Zone]
    ) -> "_Table":
        import numpy as np

        def column(values: list[float]) -> "np.ndarray":
            return np.array(values)[:, None]

        def row(values: list[float]) -> "np.ndarray":
            return np.array(values)[None, :]

        most = column([b.largest_mm for b in bores]) - row([s.smallest_mm for s in stems])
        least = column([b.smallest_mm for b in bores]) - row([s.largest_mm for s in stems])
        mean = column([b.mean_mm for b in bores]) - row([s.mean_mm for s in stems])
        u = np.hypot(column([b.u_mm for b in bores]), row([s.u_mm for s in stems]))
        here = [zones[bore.position] for bore in bores]
        guard = guard_band(PROBABILITY) * u
        fits = (most + guard <= column([z.most_mm for z in here])) & (
            least - guard >= column([z.least_mm for z in here])
        )
        steps = np.rint(np.abs(mean - column([z.middle_mm for z in here])) / STEP_MM)
        off = np.minimum(steps, STEPS_MAX).astype(np.int64) ** 2
        return cls(most, least, mean, fits, off)


def _sorted_as(
    stems: Sequence[Size],
    bores: Sequence[Size],
    zones: Mapping[str, Zone],
    chosen: Sequence[int],
) -> Matching:
    """The sorting in which guide number n gets valve number chosen[n]."""
    table = _Table.of(stems, bores, zones)
    pairings = tuple(
        Pairing(
            valve=stems[valve].position,
            guide=bores[guide].position,
            clearance_max_mm=float(table.most[guide, valve]),
            clearance_min_mm=float(table.least[guide, valve]),
            clearance_mean_mm=float(table.mean[guide, valve]),
            fits=bool(table.fits[guide, valve]),
        )
        for guide, valve in enumerate(chosen)
    )
    off = sum(int(table.off[guide, valve]) for guide, valve in enumerate(chosen))
    return Matching(pairings, off)

"""A valve stem spun by hand on V-blocks under an indicator. Invented physics."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from drivers.pretend.hand import HandPath, HandStyle
from drivers.pretend.motion import Floats, eased

_GRID = 7200  # points a turn on which the true runout is found; good to 1e-5 of it


class Shape(StrEnum):
    """What is wrong with the stem, mostly."""

    GOOD = "good"
    BENT = "bent"
    OVAL = "oval"
    LOBED = "lobed"


@dataclass(frozen=True)
class Section:
    """What the indicator sees of the measured plane over one turn, mean left out.

    orders: waves a turn (1 bend, 2 ovality, 3 and 5 lobing). amplitude_mm, phase_rad: of each.
    """

    orders: Floats
    amplitude_mm: Floats
    phase_rad: Floats

    def at(self, turns: Floats) -> Floats:
        """Indicated position in mm at angles given in turns."""
        waves = np.cos(2 * np.pi * np.outer(turns, self.orders) + self.phase_rad)
        return waves @ self.amplitude_mm

    @property
    def runout_mm(self) -> float:
        """Largest minus smallest over one whole turn."""
        whole_turn = self.at(np.arange(_GRID) / _GRID)
        return float(whole_turn.max() - whole_turn.min())

    def scaled_to(self, runout_mm: float) -> "Section":
        """The same shape with another runout."""
        factor = runout_mm / self.runout_mm
        return Section(self.orders, self.amplitude_mm * factor, self.phase_rad)


def invented_section(shape: Shape, runout_mm: float, rng: np.random.Generator) -> Section:
    """A section of this shape, chance in its details, with exactly this runout."""
    orders = np.array([1.0, 2.0, 3.0, 5.0, 7.0])
    strength = {
        Shape.GOOD: (0.5, 0.4, 0.3, 0.15, 0.05),
        Shape.BENT: (1.0, 0.12, 0.08, 0.03, 0.01),
        Shape.OVAL: (0.4, 1.0, 0.1, 0.05, 0.02),
        Shape.LOBED: (0.3, 0.2, 1.0, 0.3, 0.1),
    }[shape]
    amplitude = np.array(strength) * rng.uniform(0.6, 1.3, len(orders))
    phase = rng.uniform(0.0, 2 * np.pi, len(orders))
    return Section(orders, amplitude, phase).scaled_to(runout_mm)


class SpunValve:
    """A valve put on the V-blocks and turned by hand for `seconds`.

    level_mm: where the indicator stands in contact. lint: so many grains pass under the stylus,
    each lifting it by 0.05 to 0.15 mm for a moment. drift_mm_per_min: stand and part creep.
    """

    def __init__(
        self,
        section: Section,
        style: HandStyle,
        rng: np.random.Generator,
        *,
        seconds: float = 60.0,
        level_mm: float = 0.0,
        lint: int = 0,
        drift_mm_per_min: float = 0.0,
    ) -> None:
        self.truth_mm = section.runout_mm
        self.duration_s = seconds
        self._section = section
        self._level_mm = level_mm
        self._drift_mm_per_s = drift_mm_per_min / 60
        self._put_in_s = float(rng.uniform(0.4, 0.9))
        self._fumble_mm = float(rng.uniform(0.02, 0.15))
        self._turn_from_s = self._put_in_s + float(rng.uniform(0.3, 0.9))
        self._start_turns = float(rng.uniform(0.0, 1.0))
        self._path = HandPath(style, seconds - self._turn_from_s, rng)
        # Grains come early: whoever turns for minutes has wiped them off.
        self._lint_s = np.sort(rng.uniform(self._turn_from_s, self._turn_from_s + 8.0, lint))
        self._lint_wide_s = rng.uniform(0.03, 0.09, lint)
        self._lint_mm = rng.uniform(0.05, 0.15, lint)

    def at(self, t_s: Floats, from_mm: float) -> Floats:
        """See `Motion`."""
        turns = self._start_turns + self._path.turns_at(t_s - self._turn_from_s)
        lying_mm = self._level_mm + self._section.at(turns) + self._drift_mm_per_s * t_s
        for begin_s, wide_s, height_mm in zip(
            self._lint_s, self._lint_wide_s, self._lint_mm, strict=True
        ):
            lying_mm += height_mm * ((t_s >= begin_s) & (t_s < begin_s + wide_s))
        share = eased(t_s / self._put_in_s)
        fumble_mm = self._fumble_mm * np.sin(np.pi * share) * np.sin(40 * t_s)
        return from_mm * (1 - share) + lying_mm * share + fumble_mm

    def turned_at(self, t_s: float) -> float:
        """Turns made so far, for tests."""
        return float(self._path.turns_at(np.array([t_s - self._turn_from_s]))[0])

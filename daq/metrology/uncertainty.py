"""Standard uncertainties: where they come from, how they combine, how far they reach.

Source: JCGM 100:2008 (GUM) 4.2 (statistics), 4.3 (other knowledge), 5.1 and 5.2 (combination),
annex G (coverage factors). Read in secondary sources; the text itself was not at hand.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import special

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

# A central difference over this share of u: its bend is then far below double rounding.
_STEP_SHARE = 1e-3


class Part(NamedTuple):
    """One uncertainty and its degrees of freedom (infinite for knowledge taken as certain)."""

    u: float
    degrees_of_freedom: float = math.inf


def rectangular_u(half_width: float) -> float:
    """Every value within +-half_width is equally likely: a/sqrt(3) (GUM 4.3.7)."""
    return half_width / math.sqrt(3.0)


def arcsine_u(half_width: float) -> float:
    """The quantity swings like a sine within +-half_width: a/sqrt(2) (GUM H.1.3.4)."""
    return half_width / math.sqrt(2.0)


def resolution_u(step: float) -> float:
    """A digital display with this step: step/sqrt(12) (GUM F.2.2.1)."""
    return step / math.sqrt(12.0)


def effective_degrees_of_freedom(parts: Iterable[Part]) -> float:
    """Welch-Satterthwaite formula (GUM G.4.1); infinite when no part has a finite number."""
    parts = list(parts)
    total = math.fsum(part.u**2 for part in parts)
    weights = math.fsum(part.u**4 / part.degrees_of_freedom for part in parts)
    return total**2 / weights if weights > 0 else math.inf


def coverage_factor(probability: float, degrees_of_freedom: float = math.inf) -> float:
    """k of the two-sided interval that holds `probability` (Student's t; GUM G.3)."""
    upper = 0.5 + probability / 2
    if math.isinf(degrees_of_freedom):
        return float(special.ndtri(upper))
    return float(special.stdtrit(degrees_of_freedom, upper))


def sensitivities(
    model: Callable[[Vector], Vector], inputs: Sequence[float], u: Sequence[float]
) -> Matrix:
    """Partial derivatives of each output by each input, outputs by inputs (GUM 5.1.3, note 2).

    model: takes and gives vectors. u: the inputs' standard uncertainties, none of them 0.
    """
    centre = np.asarray(inputs, dtype=np.float64)
    columns = []
    for place, width in enumerate(u):
        half = np.zeros_like(centre)
        half[place] = width * _STEP_SHARE
        above, below = centre + half, centre - half
        spread = above[place] - below[place]
        columns.append((np.atleast_1d(model(above)) - np.atleast_1d(model(below))) / spread)
    return np.column_stack(columns)


def covariance(u: Sequence[float], correlation: Matrix | None = None) -> Matrix:
    """The covariance matrix of inputs with these uncertainties (without one, independent)."""
    widths = np.asarray(u, dtype=np.float64)
    between = np.eye(len(widths)) if correlation is None else correlation
    return np.outer(widths, widths) * between


def propagated(sensitivity: Matrix, input_covariance: Matrix) -> Matrix:
    """Covariance matrix of the outputs, first order (GUM 5.2.2 and, for several, H.2.3)."""
    return sensitivity @ input_covariance @ sensitivity.T

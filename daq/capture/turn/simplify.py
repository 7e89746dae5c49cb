"""Taking out small swings, smallest first: a slip of the hand is a small swing inside a larger one.

A hand that slips back and goes on draws a low and a high that lie inside the leg they interrupt.
Real lobes look alike, but come again every turn. So the order of turning points is offered at
every level of detail, and the search for a period chooses.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Order:
    """keep: positions of the turning points that are left, first and last being the trace's ends.

    taken_mm: sizes of the swings that were taken out.
    """

    keep: tuple[int, ...]
    taken_mm: tuple[float, ...]


def orders(level_mm: Floats, swings_max: int) -> list[Order]:
    """The order of turning points, whole and with 1, 2, ... up to swings_max swings taken out.

    Only a swing nested in both its neighbours is taken out; one that touches an end of the trace
    stays, because nothing says how far that leg would have gone.
    """
    keep = list(range(len(level_mm)))
    level = level_mm.tolist()
    taken: list[float] = []
    found = [Order(tuple(keep), ())]
    while len(taken) < swings_max and len(keep) >= 6:
        smallest, where = np.inf, 0
        for k in range(1, len(keep) - 2):
            swing = abs(level[keep[k + 1]] - level[keep[k]])
            nested = swing <= abs(level[keep[k]] - level[keep[k - 1]]) and swing <= abs(
                level[keep[k + 2]] - level[keep[k + 1]]
            )
            if nested and swing < smallest:
                smallest, where = swing, k
        if not where:
            break
        taken.append(float(smallest))
        del keep[where : where + 2]
        found.append(Order(tuple(keep), tuple(taken)))
    return found

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


def orders(level_mm: Floats, start: int, swings_max: int) -> list[Order]:
    """The order of turning points from `start`, with 0, 1, ... swings_max swings taken out.

    Only a swing nested in both its neighbours is taken out; one that touches an end of the trace
    stays, because nothing says how far that leg would have gone.
    """
    keep = list(range(start, len(level_mm)))
    level = level_mm.tolist()
    taken: list[float] = []
    found = [Order(tuple(keep), ())]
    legs = [abs(level[k + 1] - level[k]) for k in keep[:-1]]
    while len(taken) < swings_max and len(keep) >= 6:
        nested = [
            (leg, k)
            for k, leg in enumerate(legs[1:-1], start=1)
            if legs[k - 1] >= leg <= legs[k + 1]
        ]
        if not nested:
            break
        smallest, where = min(nested)
        taken.append(smallest)
        del keep[where : where + 2]
        legs[where - 1 : where + 2] = [abs(level[keep[where]] - level[keep[where - 1]])]
        found.append(Order(tuple(keep), tuple(taken)))
    return found

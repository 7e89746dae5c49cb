"""Takes of one place are pooled; the best one is never chosen.

Between reworks every kept take of the same place counts. Their mean is the value; because the
takes share one gauge and one zero, averaging them earns no smaller uncertainty (the systematic
part, GUM 4.2.4 and 5.2, does not average out).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from daq.head.measurement import Measurement
from daq.head.plan import Place

# Two takes that differ by more than their joint expanded uncertainty contradict each other.
AGREEMENT_K = 2.0


@dataclass(frozen=True, slots=True)
class Pooled:
    """All standing takes at one place: their mean in mm, standard uncertainty, and agreement.

    complete: every take that counts was complete; incomplete takes count only when there is no
    complete one. usable: each take has a value and an uncertainty and belongs on the part.
    """

    place: Place | None
    value: float
    u: float
    complete: bool
    agree: bool
    ids: tuple[str, ...]


def pooled(takes: Iterable[Measurement]) -> list[Pooled]:
    """One `Pooled` for each place among `takes`, in order of first appearance."""
    by_place: dict[Place | None, list[Measurement]] = {}
    for take in takes:
        if take.value is not None and take.uncertainty is not None:
            by_place.setdefault(take.place, []).append(take)
    return [_pool(place, found) for place, found in by_place.items()]


def _pool(place: Place | None, found: list[Measurement]) -> Pooled:
    counting = [take for take in found if take.complete] or found
    values = [float(take.value) for take in counting if take.value is not None]
    us = [float(t.uncertainty) / float(t.k) for t in counting if t.uncertainty is not None]
    u = math.sqrt(math.fsum(each * each for each in us) / len(us))
    spread = max(values) - min(values)
    return Pooled(
        place=place,
        value=math.fsum(values) / len(values),
        u=u,
        complete=all(take.complete for take in counting),
        agree=spread <= AGREEMENT_K * math.sqrt(2) * max(us),
        ids=tuple(take.id for take in counting),
    )

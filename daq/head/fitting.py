"""Which diameter fits the other part of its pair, for whoever has it on the gauge.

A bore or a stem without a limit of its own is judged by the clearance with its partner. Once the
partner is measured, clearance = guide − stem turns round: a bore fits from the largest stem plus
the least clearance to the smallest stem plus the most, and a stem the other way about. It is shown
and decides nothing: the clearance itself does, with its uncertainty.
"""

from collections.abc import Sequence
from decimal import Decimal

from pydantic import BaseModel, ConfigDict

from daq.head.clearance import is_on_part
from daq.head.kept import measurement_of
from daq.head.plan import Target
from daq.head.pooling import pooled
from daq.head.record import Record
from daq.head.renewal import made_new
from daq.head.ruling import ruling

GUIDE, STEM = "guide.diameter", "valve.stem_diameter"
_PARTNER = {GUIDE: STEM, STEM: GUIDE}
_STEP_MM = Decimal("0.0001")  # as diameters are written


class Fitting(BaseModel):
    """A diameter that fits lies from `lower` to `upper`, in mm; null where no limit ends it.

    partner: the characteristic that was measured; from `partner_least` to `partner_most`, in mm.
    """

    model_config = ConfigDict(frozen=True)

    lower: Decimal | None
    upper: Decimal | None
    partner: str
    partner_least: Decimal
    partner_most: Decimal


def fitting(record: Record, target: Target) -> Fitting | None:
    """What `target` fits with. None for what is no diameter of a pair, has a limit of its own,
    whose partner is not measured, or whose clearance nobody limits."""
    partner = _PARTNER.get(target.characteristic)
    if partner is None or ruling(record.plan, target) is not None:
        return None
    sizes = _sizes(record, partner, target.position)
    least = _end(record, "guide.clearance_min", target.position, "lower")
    most = _end(record, "guide.clearance_max", target.position, "upper")
    if not sizes or (least is None and most is None):
        return None
    smallest, largest = min(sizes), max(sizes)
    if target.characteristic == GUIDE:
        lower = None if least is None else largest + least
        upper = None if most is None else smallest + most
    else:
        lower = None if most is None else largest - most
        upper = None if least is None else smallest - least
    return Fitting(
        lower=lower, upper=upper, partner=partner, partner_least=smallest, partner_most=largest
    )


def _sizes(record: Record, partner: str, position: str) -> Sequence[Decimal]:
    takes = [
        measurement_of(entry)
        for entry in record.standing
        if (entry.body["characteristic"], entry.body["position"]) == (partner, position)
    ]
    places = pooled(take for take in takes if is_on_part(record.plan, take))
    return [Decimal(place.value).quantize(_STEP_MM) for place in places if place.complete]


def _end(record: Record, clearance: str, position: str, end: str) -> Decimal | None:
    target = Target(clearance, position, None)
    held = ruling(record.plan, target, made_new=made_new(record, target))
    found: Decimal | None = None if held is None else getattr(held.limit, end)
    return found

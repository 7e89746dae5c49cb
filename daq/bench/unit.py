"""Which readings can be of what is up by their unit: a length is no load, whatever its number."""

from collections.abc import Sequence

from daq.head.characteristic import characteristic
from daq.head.plan import Target
from drivers.reading import Reading

_READ_IN = {"mbar.l/s": "mbar"}  # by the unit of a characteristic, where it is not read in that


def in_its_unit(target: Target | None, readings: Sequence[Reading]) -> Sequence[Reading]:
    """Those in the unit that `target` is read in."""
    if target is None:
        return ()
    unit = characteristic(target.characteristic).unit
    return [each for each in readings if each.unit.value == _READ_IN.get(unit, unit)]

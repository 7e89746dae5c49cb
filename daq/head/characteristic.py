"""The characteristics of a head, by name: what is measured on which part, how, in which unit.

The names are the ones used everywhere: in plans, over HTTP, in records and exports.
"""

from daq.head.catalogue.about import CaptureKind, Characteristic, Part
from daq.head.catalogue.of_assembly import OF_ASSEMBLY
from daq.head.catalogue.of_guide import OF_GUIDE
from daq.head.catalogue.of_head import OF_HEAD
from daq.head.catalogue.of_seat import OF_SEAT
from daq.head.catalogue.of_spring import OF_SPRING
from daq.head.catalogue.of_valve import OF_VALVE
from daq.head.errors import UnknownError

__all__ = ["CATALOGUE", "CaptureKind", "Characteristic", "Part", "characteristic", "is_look"]

CATALOGUE = {
    each.name: each for each in (*OF_HEAD, *OF_VALVE, *OF_GUIDE, *OF_SEAT, *OF_SPRING, *OF_ASSEMBLY)
}


def characteristic(name: str) -> Characteristic:
    """The characteristic of that name. Raises UnknownError with the names that exist."""
    try:
        return CATALOGUE[name]
    except KeyError:
        raise UnknownError(
            f"there is no characteristic {name!r}; there are {', '.join(CATALOGUE)}"
        ) from None


def is_look(name: str) -> bool:
    """Whether it is answered by a person with yes or no."""
    return CATALOGUE[name].capture == "look"

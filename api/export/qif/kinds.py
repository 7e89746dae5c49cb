"""Which QIF characteristic stands for which of ours, from what the catalogue says of it."""

from enum import Enum
from typing import NamedTuple

from api.export.words import name_of
from daq.head.characteristic import CATALOGUE
from daq.head.measurement import Limits


class Form(Enum):
    """How a limit is written: two ends, the width of a zone, or not at all (text)."""

    ENDS = "ends"
    ZONE = "zone"
    TEXT = "text"


class Kind(NamedTuple):
    """element: `Diameter` for DiameterCharacteristicDefinition and its kin."""

    element: str
    form: Form

    @property
    def is_described(self) -> bool:
        """Whether the definition has to say in words what is measured."""
        return self.element.startswith("UserDefined")


_NAMED = {
    "head.flatness": Kind("Flatness", Form.ZONE),
    "head.height": Kind("Height", Form.ENDS),
    "valve.recess": Kind("Depth", Form.ENDS),
    "valve.margin": Kind("Thickness", Form.ENDS),
    "valve.length": Kind("Length", Form.ENDS),
    "guide.protrusion": Kind("Height", Form.ENDS),
    "seat.width": Kind("Width", Form.ENDS),
    "spring.free_length": Kind("Length", Form.ENDS),
    "spring.fitted_height": Kind("Length", Form.ENDS),
    "spring.squareness": Kind("Perpendicularity", Form.ZONE),
}
_BY_UNIT = {
    "mm": Kind("UserDefinedLinear", Form.ENDS),
    "N": Kind("UserDefinedForce", Form.ENDS),
    "mbar": Kind("UserDefinedPressure", Form.ENDS),
    "deg": Kind("UserDefinedAngular", Form.ENDS),
    "Cel": Kind("UserDefinedTemperature", Form.ENDS),
    "s": Kind("UserDefinedTime", Form.ENDS),
}
_TEXT = Kind("UserDefinedAttribute", Form.TEXT)
_RUNOUT = Kind("CircularRunout", Form.ZONE)
_DIAMETER = Kind("Diameter", Form.ENDS)


def kind_of(characteristic: str, unit: str, limits: Limits | None) -> Kind:
    """The kind of a characteristic in that unit under those limits.

    A zone has a width and nothing else, so a runout without a limit, or with a least one, goes
    out as a length that is described in words. A unit QIF has no kind for goes out as text with
    the unit beside it.
    """
    generic = _BY_UNIT.get(unit, _TEXT)
    kind = _named(characteristic) if unit == "mm" else generic
    if kind.form is not Form.ZONE:
        return kind
    fits = limits is not None and limits.lower is None and limits.upper is not None
    return kind if fits else generic


def _named(characteristic: str) -> Kind:
    about = CATALOGUE.get(characteristic)
    if about is not None and about.capture == "turn":
        return _RUNOUT
    if characteristic.endswith("diameter"):
        return _DIAMETER
    return _NAMED.get(characteristic, _BY_UNIT["mm"])


def meaning_of(characteristic: str) -> str:
    """What is measured, in words."""
    about = CATALOGUE.get(characteristic)
    if about is None:
        return f"{name_of(characteristic)}, worked out from the readings of the part"
    return about.where

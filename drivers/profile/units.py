"""Units a gauge may speak, and the canonical unit that each becomes before a reading exists."""

from decimal import Decimal
from enum import StrEnum

from drivers.reading import MM_PER_INCH, Unit


class SourceUnit(StrEnum):
    """Units a gauge may speak."""

    MM = "mm"
    UM = "um"
    INCH = "in"
    DEG = "deg"
    MBAR = "mbar"
    KPA = "kPa"
    NEWTON = "N"
    CELSIUS = "Cel"


# Exact factors: 25.4 mm to the inch, 1 mbar = 100 Pa (NIST SP 811 appendix B.8, from memory).
CANONICAL: dict[SourceUnit, tuple[Unit, Decimal]] = {
    SourceUnit.MM: (Unit.MM, Decimal(1)),
    SourceUnit.UM: (Unit.MM, Decimal("0.001")),
    SourceUnit.INCH: (Unit.MM, MM_PER_INCH),
    SourceUnit.DEG: (Unit.DEG, Decimal(1)),
    SourceUnit.MBAR: (Unit.MBAR, Decimal(1)),
    SourceUnit.KPA: (Unit.MBAR, Decimal(10)),
    SourceUnit.NEWTON: (Unit.NEWTON, Decimal(1)),
    SourceUnit.CELSIUS: (Unit.CELSIUS, Decimal(1)),
}

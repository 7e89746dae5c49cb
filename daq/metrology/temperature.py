"""Lengths brought to 20 degrees Celsius, with what that adds to their uncertainty.

Formula: L20 = L - alpha L (T - 20) (National Physical Laboratory, FAQ "How do I correct lengths to
20 degC?"). 20 degC: ISO 1 (from memory; also in Swyt, J. Res. NIST 99, 31, 1994). Where a gauge was
set on a ring and both are warm, the ring's own growth is part of the reading and is given back.
"""

from dataclasses import dataclass, replace

from daq.metrology.measured import Contribution, Evaluation, Measured

REFERENCE_CEL = 20.0


@dataclass(frozen=True, slots=True)
class Expansion:
    """Linear expansion of a material near room temperature; u is a standard uncertainty."""

    alpha_per_k: float
    u_alpha_per_k: float
    source: str


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperature of a thing, its standard uncertainty, and what the thing is made of."""

    temperature_cel: float
    u_temperature_k: float
    expansion: Expansion

    @property
    def above_k(self) -> float:
        """Kelvins above 20 degrees Celsius."""
        return self.temperature_cel - REFERENCE_CEL


_TEXTBOOK = "Callister and Rethwisch 2007, table B.6"
# One reference against another differs by about a tenth (NIST Engineering Metrology Toolbox,
# slide 12), a rectangle of 10 %; gauge steel is held to +-1.0e-6 (ISO 3650, from memory).
_SPREAD = 0.1 / 3**0.5


def _textbook(alpha_per_k: float, source: str = _TEXTBOOK) -> Expansion:
    return Expansion(alpha_per_k, alpha_per_k * _SPREAD, source)


EXPANSIONS: dict[str, Expansion] = {
    "gauge steel": Expansion(11.5e-6, 1.0e-6 / 3**0.5, "Swyt 1994, section 1; ISO 3650 (memory)"),
    "steel": _textbook(12.3e-6),
    "stainless steel": _textbook(17.2e-6),
    "grey iron": _textbook(11.4e-6),
    "aluminium head": _textbook(21.5e-6),
    "bearing bronze": _textbook(18.0e-6),
    "phosphor bronze": _textbook(17.8e-6, "public data sheets of UNS C51000, 20 to 200 degC"),
    "austenitic valve steel": _textbook(15.5e-6, "EN 10090:1998, 1.4870, 20 to 100 degC"),
}


def length_at_20_mm(length_mm: float, temperature_cel: float, alpha_per_k: float) -> float:
    """The length at 20 degrees Celsius of what is `length_mm` long at `temperature_cel`."""
    return length_mm - alpha_per_k * length_mm * (temperature_cel - REFERENCE_CEL)


def at_20(measured: Measured, part: Warmth, gauge: Warmth | None = None) -> Measured:
    """The length of a part at 20 degrees Celsius, its budget longer by what is not known.

    measured: in mm. gauge: the ring, block or screw the reading compares with, when it is not at
    20 degrees itself; None for a gauge that corrects itself. First order, as in the source.
    """
    length_mm = measured.value
    lines = list(_lines("part", length_mm, part))
    corrected_mm = length_at_20_mm(length_mm, part.temperature_cel, part.expansion.alpha_per_k)
    if gauge is not None:
        corrected_mm += length_mm * gauge.expansion.alpha_per_k * gauge.above_k
        lines += _lines("gauge", length_mm, gauge)
    return replace(measured, value=corrected_mm, budget=(*measured.budget, *lines))


def _lines(what: str, length_mm: float, warmth: Warmth) -> tuple[Contribution, Contribution]:
    alpha = warmth.expansion.alpha_per_k
    return (
        Contribution(
            f"temperature of {what}",
            abs(length_mm) * alpha * warmth.u_temperature_k,
            Evaluation.TYPE_B,
            f"{warmth.temperature_cel:g} degC, standard uncertainty {warmth.u_temperature_k:g} K",
        ),
        Contribution(
            f"expansion of {what}",
            abs(length_mm * warmth.above_k) * warmth.expansion.u_alpha_per_k,
            Evaluation.TYPE_B,
            f"{alpha * 1e6:g}e-6 per K: {warmth.expansion.source}",
        ),
    )

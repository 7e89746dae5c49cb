"""Cautions, shown before the act; they defer to local codes, the maker and a qualified person.

Each names its source; "common practice, no source" where there is none.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning to show before a step: what to do, and where that comes from."""

    text: str
    source: str


_DEFER = "Local rules, the engine maker's data and a qualified person come first."

SODIUM = Caution(
    "A hollow-looking or marked exhaust valve may hold sodium: never cut, grind through, press or "
    f"scrap it with ordinary steel; stop and ask. {_DEFER}",
    "service precautions of three engine makers; environment and safety handbook of a university",
)
COPPER_GUIDE = Caution(
    "A copper-coloured guide or seat may hold beryllium: no dry reaming, grinding or honing; "
    f"stop and ask. {_DEFER}",
    "29 CFR 1910.1024 and its appendix A",
)
SHARP = Caution(
    f"Edges are sharp and heads are heavy: gloves, and a lifting aid. {_DEFER}",
    "common practice, no source",
)

_BY_CHARACTERISTIC: dict[str, tuple[Caution, ...]] = {
    "valve.look": (SODIUM,),
    "valve.stem_runout": (SODIUM,),
    "guide.diameter": (COPPER_GUIDE,),
    "valve.recess": (SHARP,),
}


def cautions_for(characteristic: str) -> tuple[Caution, ...]:
    """The cautions to show before `characteristic` is measured; empty when there is none."""
    return _BY_CHARACTERISTIC.get(characteristic, ())

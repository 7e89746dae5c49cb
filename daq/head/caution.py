"""Cautions, shown before the act; they defer to local codes, the maker and a qualified person.

Each names its source; "common practice, no source" where there is none.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning to show before a step: what to do, and where that comes from.

    Where several stand together, what they defer to (`DEFER`) is said once.
    """

    text: str
    source: str

    @property
    def said(self) -> str:
        """What to do, with what it defers to, for where it stands alone."""
        return f"{self.text} {DEFER}"


DEFER = "Local rules, the engine maker's data and a qualified person come first."


SODIUM = Caution(
    "A hollow-looking or marked exhaust valve may hold sodium: never cut, grind through, press or "
    "scrap it with ordinary steel; stop and ask.",
    "service precautions of three engine makers; environment and safety handbook of a university",
)
COPPER_GUIDE = Caution(
    "A copper-coloured guide or seat may hold beryllium: no dry reaming, grinding or honing; "
    "stop and ask.",
    "29 CFR 1910.1024 and its appendix A",
)
SHARP = Caution(
    "Edges are sharp and heads are heavy: gloves, and a lifting aid.",
    "common practice, no source",
)
SOLVENT = Caution(
    "Cleaning solvent burns: no flame or arc, eye and skin protection, no long breathing; never "
    "petrol.",
    "TM 10-4320-310-14 and TM 5-4210-220-34 warnings",
)
AIR = Caution(
    "Compressed air at 2 bar (30 psi) at most, with goggles and a chip guard, never at skin.",
    "29 CFR 1910.242(b)",
)
ASBESTOS = Caution(
    "An old gasket may hold asbestos: no dry scraping, no air line; wet rag, waste as asbestos.",
    "HSE motor vehicle repair, asbestos page",
)
HOT = Caution(
    "Parts from a hot wash are at up to 88 °C: gloves and face shield, and let them cool with the "
    "gauges before anything is measured.",
    "TM 5-3810-306-34",
)
GRINDING = Caution(
    "Grinding and wire wheels throw grit and bristles: goggles, extraction or mask, and no grit "
    "in a guide.",
    "TM 5-3810-306-34 notes",
)
COMPRESSED_SPRING = Caution(
    "Valve springs are under load: goggles, compressor square on the retainer, head on solid wood "
    "blocks, nobody in front of the spring.",
    "TM 9-2815-256-24 p. 3-148 warnings",
)
SPRING_TESTER = Caution(
    "Spring tester: guard closed, stop at the set length, never past solid.",
    "common practice, no source",
)
FLYING_COTTERS = Caution(
    "Badly seated cotters fly when the stem is tapped: goggles, and do not look along the stem.",
    "TM 5-1940-322-24 warning",
)
LOW_PRESSURE = Caution(
    "Limit the supply of a leak test with a regulator and a relief valve: a cover can fly off.",
    "common practice, no source",
)
LEAK_FLUID = Caution(
    "No petrol in a fluid test, it gives off flammable vapour even when cold: high-flash solvent, "
    "ventilate, no sparks, drain at once.",
    "HSE OC 803/71",
)
LAPPING_PASTE = Caution(
    "Wash off every trace of lapping paste before measuring and assembly.",
    "NIMI theory p. 68",
)

_BY_CHARACTERISTIC: dict[str, tuple[Caution, ...]] = {
    "head.clean": (SOLVENT, AIR, ASBESTOS, HOT),
    "head.cracks": (SOLVENT, SHARP),
    "head.flatness": (SHARP,),
    "head.height": (SHARP,),
    "guide.diameter": (COPPER_GUIDE,),
    "guide.protrusion": (COPPER_GUIDE,),
    "guide.rocking": (SODIUM,),
    "valve.look": (SODIUM,),
    "valve.stem_runout": (SODIUM,),
    "valve.face_runout": (SODIUM, GRINDING),
    "valve.stem_diameter": (SODIUM,),
    "valve.margin": (SODIUM, GRINDING),
    "valve.length": (SODIUM, GRINDING),
    "valve.recess": (SHARP,),
    "valve.free_movement": (SODIUM,),
    "valve.rebound": (SODIUM,),
    "seat.width": (COPPER_GUIDE, GRINDING),
    "seat.runout": (COPPER_GUIDE, GRINDING),
    "seat.leak": (LOW_PRESSURE, LAPPING_PASTE),
    "seat.leak_fluid": (LEAK_FLUID, LAPPING_PASTE),
    "spring.load": (SPRING_TESTER,),
    "spring.fitted_height": (COMPRESSED_SPRING,),
    "spring.coil_gap": (COMPRESSED_SPRING,),
    "spring.washer": (LAPPING_PASTE,),
    "seal.fitted": (SHARP,),
    "cotter.new": (COMPRESSED_SPRING,),
    "cotter.seated": (COMPRESSED_SPRING, FLYING_COTTERS),
}


def cautions_for(characteristic: str) -> tuple[Caution, ...]:
    """The cautions to show before `characteristic` is measured; empty when there is none."""
    return _BY_CHARACTERISTIC.get(characteristic, ())

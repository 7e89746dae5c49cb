"""What is done to a part, what that makes untrue, and what it puts back to new.

Order of the trade: guide work spoils the seat it centres (TM 10-3930-621-34 p. 3-8: a worn guide
or a wobbling pilot cuts an untrue seat), seat work changes recess, fitted height and tightness,
skimming changes recess and flatness (TM 5-3810-306-34). What is voided here has to be measured
again before anything is decided on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from daq.head.characteristic import CATALOGUE, Part, characteristic
from daq.head.errors import UnknownError

_LEAK = ("seat.leak", "seat.leak_fluid")
_PAIR = ("guide.rocking", "valve.free_movement", "valve.rebound")
_FITTED = ("spring.fitted_height", "spring.coil_gap")
_SINKS = ("valve.recess", *_FITTED, *_LEAK)
CLEARANCES = ("guide.clearance_max", "guide.clearance_min", "guide.clearance_mean")
_ASSEMBLED = ("stem.oiled", "cotter.new", "cotter.seated")


def _of(part: str) -> tuple[str, ...]:
    """What is measured on a part itself; what is worked out follows by itself."""
    return tuple(a.name for a in CATALOGUE.values() if a.part == part and a.capture is not None)


@dataclass(frozen=True, slots=True)
class Work:
    """One kind of work. act: its word. voids: what has to be measured again.

    renews: of those, what is held against the limit for new from then on. everywhere: at every
    position of the head.
    """

    part: Part
    act: str
    voids: tuple[str, ...]
    renews: tuple[str, ...]
    everywhere: bool = False


def _work(
    part: Part, act: str, *voids: str, renews: tuple[str, ...] | None = None, **more: bool
) -> Work:
    """renews None: all that work on this part puts back to new (as the catalogue says)."""
    if renews is None:
        renews = tuple(name for name in voids if part in characteristic(name).made_new_by)
    if {"guide.diameter", "valve.stem_diameter"} & set(renews):
        renews += CLEARANCES
    return Work(part, act, voids, renews, **more)


_GUIDE = ("guide.diameter", *_PAIR, "seat.runout", "seat.width", "valve.recess", *_LEAK)
_SEAT = ("seat.width", "seat.runout", *_SINKS)
_SKIMMED = ("head.flatness", "head.height", "head.clean", "valve.recess")
_VALVE = tuple(dict.fromkeys((*_of("valve"), *_PAIR, *_SINKS, *_ASSEMBLED)))

# The first of a part is what is taken when nobody said what was done: it voids most.
_ALL = (
    _work("guide", "renewed", *_GUIDE, "guide.protrusion", "seal.fitted"),
    _work("guide", "reamed", *_GUIDE, "seal.fitted"),
    _work("guide", "knurled and reamed", *_GUIDE, "seal.fitted"),
    _work(
        "guide",
        "driven to its height",
        *("guide.protrusion", *_GUIDE, "seal.fitted"),
        renews=("guide.protrusion",),
    ),
    _work("valve", "replaced", *_VALVE),
    # Another valve of this head: as worn as it is, and measured anew where it is now.
    _work("valve", "exchanged", *_VALVE, renews=()),
    _work(
        "valve",
        "refaced",
        *("valve.look", "valve.face_runout", "valve.margin", *_SINKS),
        renews=("valve.face_runout", *_SINKS),
    ),
    # A thinner rim, a shorter tip, a polished stem are not new: the wear limit stays.
    _work("valve", "tip ground", "valve.look", "valve.length", "cotter.seated", renews=()),
    _work("valve", "stem polished", "valve.stem_diameter", *_PAIR, renews=()),
    _work("seat", "renewed", *_SEAT),
    _work("seat", "cut", *_SEAT),
    _work("seat", "lapped", "seat.width", *_SINKS, renews=_LEAK),
    _work("spring", "replaced", *_of("spring"), "spring.washer"),
    _work("spring", "shimmed", *_FITTED, "spring.washer"),
    _work("head", "welded", *_of("head"), *dict.fromkeys((*_GUIDE, *_SEAT)), everywhere=True),
    _work("head", "skimmed", *_SKIMMED, everywhere=True),
    _work("head", "cleaned", "head.clean", *_LEAK, everywhere=True),
    _work("assembly", "taken apart", *_of("assembly")),
)
WORK: dict[tuple[str, str], Work] = {(work.part, work.act): work for work in _ALL}


def work_on(part: str, act: str | None, what: str = "") -> Work:
    """What is known of `act` on `part`.

    Without an act, the one whose word stands in `what`; without that, everything that may be
    untrue counts as untrue and has to meet the limit for new. Raises UnknownError with what
    there is.
    """
    acts = [work for work in _ALL if work.part == part]
    if not acts:
        parts = ", ".join(dict.fromkeys(work.part for work in _ALL))
        raise UnknownError(f"part {part!r} is not one of {parts}")
    if act is None:
        meant = [work for work in acts if work.act in what.lower()]
        return meant[0] if len(meant) == 1 else _any_of(acts)
    found = WORK.get((part, act))
    if found is None:
        known = ", ".join(work.act for work in acts)
        raise UnknownError(f"a {part} is not {act!r} here; it is {known}")
    return found


def _any_of(acts: Sequence[Work]) -> Work:
    return Work(
        acts[0].part,
        "worked on",
        tuple(dict.fromkeys(name for work in acts for name in work.voids)),
        tuple(dict.fromkeys(name for work in acts for name in work.renews)),
        everywhere=any(work.everywhere for work in acts),
    )

"""What a valve that is proven out needs: a new one, a new face, a ground tip, a cut seat."""

from daq.head.deciding.here import Found, Here
from daq.head.deciding.judged import Judged
from daq.head.deciding.outcome import Act, Verdict
from daq.head.remaining_stock import along_axis_mm

# A valve's face is ground at the angle of its seat; 45° asks for the most of the two usual ones.
_FACE_ANGLE_DEG = 45.0
_REPLACED = Act(part="valve", what="replaced")
_REFACED = Act(part="valve", what="refaced")


def _replace(why: str) -> Found:
    return Found(Verdict.REPLACE, f"replace the valve{why}", _REPLACED)


def look(_here: Here, _found: Judged) -> Found:
    """Cupped, burned, stretched, cracked, a loose groove: replaced (TM 9-2320-260-34-1 step 47)."""
    return _replace("; never cut or scrap a sodium-filled one without asking")


def stem_runout(_here: Here, _found: Judged) -> Found:
    """A bent valve is never straightened (common practice, no source)."""
    return _replace("; a bent valve is not straightened")


def face_runout(here: Here, found: Judged) -> Found:
    """Reface and measure again; still out: replace (TM 10-3930-671-24).

    Refacing has to reach the lowest point of the face, at most the runout deep; the margin gets
    thinner by that much along the axis.
    """
    if here.was_done("valve", "refaced"):
        return _replace(": its face is still out after refacing")
    if here.is_out("valve.margin"):
        return _replace(": the margin leaves nothing to reface")
    needs_mm = along_axis_mm(found.value or 0.0, _FACE_ANGLE_DEG)
    margin = here.smallest("valve.margin")
    if margin is None or margin.limits is None:
        return Found(
            Verdict.REWORK,
            f"measure the margin first: refacing takes about {needs_mm:.2f} mm of it; "
            "then reface the valve, or replace it where that is too much",
            _REFACED,
        )
    room_mm = next(
        bound.room_mm
        for bound in here.left("face").bounds
        if bound.characteristic == "valve.margin"
    )
    if room_mm is not None and room_mm < needs_mm:
        return _replace(
            f": refacing takes about {needs_mm:.2f} mm of the margin, and {room_mm:.2f} mm are left"
        )
    known = "" if room_mm is None else f"; the margin allows {room_mm:.2f} mm"
    return Found(
        Verdict.REWORK,
        f"reface the valve, about {needs_mm:.2f} mm along the axis{known}; measure face, margin, "
        "recess, fitted height and leak again",
        _REFACED,
    )


def stem_diameter(_here: Here, found: Judged) -> Found:
    """Worn below its limit: replaced (TM 9-2815-225-34&P). Above it: another or oversize valve."""
    if found.is_above:
        return Found(
            Verdict.REWORK,
            "is this the right valve? An oversize stem needs its own limits and a guide reamed "
            "for it",
        )
    return _replace("")


def margin(_here: Here, _found: Judged) -> Found:
    """Too thin a rim burns: replaced (TM 9-2320-260-34-1 step 46)."""
    return _replace("; a thin margin is not made thicker")


def length(here: Here, found: Judged) -> Found:
    """The tip may be ground within the length limit (TM 5-1940-322-24)."""
    if not found.is_above:
        return _replace(": the tip is ground below the least length")
    room = here.left("tip").room_mm
    known = "" if room is None else f", at most {room:.2f} mm"
    return Found(
        Verdict.REWORK,
        f"grind the tip flat and square by {found.beyond():.2f} mm at least{known}",
        Act(part="valve", what="tip ground"),
    )


def recess(here: Here, found: Judged) -> Found:
    """Too deep: the chain of TM 5-3810-306-34; too proud: cut, never skim over it
    (TM 10-4320-310-14: the valve may touch the piston)."""
    by_mm = found.beyond()
    if not found.is_above:
        room = here.left("seat").room_mm
        known = "" if room is None else f" and at most {room:.2f} mm"
        return Found(
            Verdict.REWORK,
            f"cut the seat by {by_mm:.2f} mm at least{known} along the axis; never skim over a "
            "valve that stands too proud",
            Act(part="seat", what="cut"),
        )
    if here.was_done("seat", "renewed"):
        return _replace(f": {by_mm:.2f} mm too deep in a new seat")
    if here.was_done("valve", "replaced"):
        return Found(
            Verdict.REWORK,
            f"{by_mm:.2f} mm too deep even with a new valve: renew the seat insert, then try the "
            "old valve again",
            Act(part="seat", what="renewed"),
        )
    return Found(
        Verdict.REWORK,
        f"{by_mm:.2f} mm too deep: try a new valve in the same seat; inside then: cut the seat for "
        "it; still too deep: renew the seat insert and try the old valve again",
        Act(part="seat", what="renewed"),
    )


def free_movement(_here: Here, _found: Judged) -> Found:
    """Valves must move freely and seat properly (TM 9-4310-397-14 para 6-6 e)."""
    return Found(
        Verdict.REWORK,
        "look for a burr at the cotter groove and carbon in the guide, clean both, try again; "
        "then the clearance and the stem runout say whether to ream or to replace",
    )


def rebound(_here: Here, _found: Judged) -> Found:
    """Drop and rebound (common practice, no source)."""
    return Found(
        Verdict.REWORK,
        "clean stem, guide and seat and try again; then look at clearance, stem runout and seat",
    )


WHEN_OUT = {
    "valve.look": look,
    "valve.stem_runout": stem_runout,
    "valve.face_runout": face_runout,
    "valve.stem_diameter": stem_diameter,
    "valve.margin": margin,
    "valve.length": length,
    "valve.recess": recess,
    "valve.free_movement": free_movement,
    "valve.rebound": rebound,
}

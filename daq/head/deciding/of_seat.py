"""What a seat that is proven out needs: narrowing, cutting, lapping, or a new insert."""

from daq.head.deciding.here import Found, Here
from daq.head.deciding.judged import Judged
from daq.head.deciding.outcome import Act, Verdict

_CUT = Act(part="seat", what="cut")
_RENEWED = Act(part="seat", what="renewed")
_LAPPED = Act(part="seat", what="lapped")
_AGAIN = "then measure width, runout, recess, fitted height and leak again"


def width(_here: Here, found: Judged) -> Found:
    """Narrowed from above and below (TM 9-6115-604-34; TM 10-3930-671-24)."""
    if found.is_above:
        how = "narrow it with the flatter and the steeper cutter, from above and below"
    else:
        how = "cut the seat wider"
    return Found(Verdict.REWORK, f"{how}; {_AGAIN}", _CUT)


def runout(here: Here, found: Judged) -> Found:
    """Guide and pilot first, then regrind (TM 5-4320-300-14); no metal left: a new insert."""
    first = "" if here.is_proven("guide.clearance_max") else "the guide and its pilot come first; "
    if here.was_done("seat", "cut"):
        return Found(
            Verdict.REPLACE,
            f"{first}it is still out after cutting: renew the seat insert; {_AGAIN}",
            _RENEWED,
        )
    room = here.left("seat")
    deeper = f"cutting sinks the valve by about {found.value or 0.0:.2f} mm or more"
    if room.room_mm is None:
        unknown = next(bound.text for bound in room.bounds if bound.room_mm is None)
        return Found(
            Verdict.REWORK,
            f"{first}cut the seat; {deeper}, and how much it may sink is not known ({unknown}); "
            f"{_AGAIN}",
            _CUT,
        )
    if room.room_mm < (found.value or 0.0):
        return Found(
            Verdict.REPLACE,
            f"{first}renew the seat insert: {deeper}, and {room.stopped_by} leaves "
            f"{room.room_mm:.2f} mm; {_AGAIN}",
            _RENEWED,
        )
    return Found(
        Verdict.REWORK,
        f"{first}cut the seat; {deeper}, {room.stopped_by} allows {room.room_mm:.2f} mm; {_AGAIN}",
        _CUT,
    )


def leak(here: Here, _found: Judged) -> Found:
    """Dirt fails good valves: clean, drop, test again before cutting; a little lapping is allowed
    (TM 9-6115-604-34; TM 55-1905-223-24-3)."""
    if here.was_done("seat", "lapped"):
        return Found(
            Verdict.REWORK,
            f"it still leaks after lapping: reface the valve and cut the seat; {_AGAIN}",
            _CUT,
        )
    return Found(
        Verdict.REWORK,
        "clean seat and face, drop the valve onto its seat, test again; still leaking: lap a "
        "little, wash off every trace of paste, test again",
        _LAPPED,
    )


WHEN_OUT = {
    "seat.width": width,
    "seat.runout": runout,
    "seat.leak": leak,
    "seat.leak_fluid": leak,
}

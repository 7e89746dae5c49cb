"""What would settle a value that proves nothing: more turns, a finer gauge, a ring check.

The largest line of the value's own budget says where its doubt comes from.
"""

from decimal import ROUND_DOWN, Decimal

from daq.head.deciding.judged import Doubt, Judged
from daq.metrology.conformity import PROBABILITY, guard_band
from daq.metrology.measured import COVERAGE_K

# By how the lines of a budget begin, as the captures and the bench write them.
_BY_LINE = (
    (("resolution", "reading by eye"), "a gauge with a finer step"),
    (("error limit", "gauge"), "a gauge with a smaller error limit, or a fresh certificate for it"),
    (
        ("setting ring", "reading on the ring", "reading in the ring"),
        "a ring check: read the setting ring again, then the part",
    ),
    (
        ("setting block", "reading on the block"),
        "a check of the zero: read the gauge block again, then the part",
    ),
    (
        ("temperature", "expansion"),
        "part and gauge left together until they have one temperature, and that noted",
    ),
    (("bore",), "the guide measured again: a ring check first, then more swings"),
    (("stem",), "the stem measured again with a finer micrometer, its zero checked first"),
)
# By words in the reason why a value is not complete, as the record gives it.
_BY_REASON = (
    ("the zero of", "a ring check: read the setting ring or block again, then the part"),
    (
        "stand together",
        "part and gauge left together, their temperatures noted; then measure again",
    ),
    ("has to stay", "the test watched for as long as is asked"),
)
_BY_CAPTURE = {
    "turn": "more turns, slowly and one way",
    "rock": "more swings through the bore, slowly",
    "settle": "held still for longer, wiped clean; take it again",
    "decay": "a longer test on a clean seat",
    "look": "look again",
}
# For a value that cannot be of this part; no finer gauge makes it one.
OFF_THE_PLAN = (
    "void it and measure again, with the gauge's ring or zero read first and the right part in "
    "hand; where the size is right, the nominal size in the plan is not"
)


def settles(found: Judged) -> str:
    """What would settle what `found` leaves open, in words for the person at the bench."""
    capture = found.about.capture
    match found.doubt:
        case Doubt.CONTRADICTING:
            return (
                "wipe part and gauge and measure it again; void the take that was wrong, and say "
                "why"
            )
        case Doubt.CONTESTED:
            return "void the one that is wrong, or take it again"
        case Doubt.INCOMPLETE if any(word in found.last.reason for word, _ in _BY_REASON):
            return next(advice for word, advice in _BY_REASON if word in found.last.reason)
        case Doubt.INCOMPLETE if capture == "turn":
            return "turn it again, one way, a turn and a quarter at least"
        case Doubt.INCOMPLETE if capture is None:
            return "measure the places of guide and stem that are missing"
        case Doubt.INCOMPLETE:
            return f"measure it again: {_BY_CAPTURE[capture or 'settle']}"
        case Doubt.NONE:
            return _nearer(found)


def _nearer(found: Judged) -> str:
    """For a value too near its limit: where its doubt comes from, and how small it must be."""
    advice = _BY_CAPTURE.get(found.about.capture or "", "measure guide and stem again")
    lines = found.last.detail.get("budget") or []
    largest = max(lines, key=lambda line: float(line["u"]), default=None)
    if largest is not None:
        name = str(largest["name"])
        advice = next(
            (text for starts, text in _BY_LINE if name.startswith(starts)),
            advice,
        )
    enough = _enough(found)
    return advice if enough is None else f"{advice}; an uncertainty below {enough} would settle it"


def _enough(found: Judged) -> str | None:
    """The expanded uncertainty at which this very value would be proven in or out."""
    distance = abs(found.beyond())
    if found.limits is None or not 0.0 < distance < float("inf"):
        return None
    expanded = Decimal(repr(COVERAGE_K * distance / guard_band(PROBABILITY)))
    # Rounded down to two digits: what is asked for has to be enough.
    step = Decimal(1).scaleb(expanded.adjusted() - 1)
    return f"{expanded.quantize(step, ROUND_DOWN):f} {found.about.unit}"

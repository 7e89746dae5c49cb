"""What words on a line say about the number beside them; common practice, no source."""

from drivers.profile import SourceUnit

LENGTHS = {
    "mm": SourceUnit.MM,
    "in": SourceUnit.INCH,
    "inch": SourceUnit.INCH,
    "inches": SourceUnit.INCH,
    '"': SourceUnit.INCH,
    "\u2033": SourceUnit.INCH,
    "um": SourceUnit.UM,
    "\xb5m": SourceUnit.UM,
    "\xe2\xb5m": SourceUnit.UM,  # the same as UTF-8 bytes read one by one, in small letters
    "\xee\xbcm": SourceUnit.UM,
    "micron": SourceUnit.UM,
    "microns": SourceUnit.UM,
    **{f"millimet{end}": SourceUnit.MM for end in ("er", "re", "ers", "res")},
    **{f"micromet{end}": SourceUnit.UM for end in ("er", "re", "ers", "res")},
}

# Units of something else. Single letters are in doubt when nothing else explains the line.
OTHERS = frozenset(
    {
        *("c", "\xb0c", "\xc2\xb0c", "degc", "deg", "\xb0", "\xc2\xb0", "f", "\xb0f", "k", "degf"),
        *("cel", "%", "%rh", "rh", "%rf", "rf", "v", "mv", "vdc", "a", "ma", "n", "kn", "mn"),
        *("cn", "gf", "kgf", "lbf", "g", "kg", "mg", "nm", "hz", "khz", "s", "ms", "us", "sec"),
        *("min", "h", "mbar", "bar", "pa", "hpa", "kpa", "mpa", "psi", "rpm", "mm/s", "mm/min"),
        *("m/s", "um/s", "in/s", "db", "dbm", "cnt", "pcs", "w", "mw", "l", "ml", "cm", "m", "km"),
        *("mil", "mils", "thou", "ft", "rad", "mrad", "ppm", "pct", "volt", "volts"),
    }
)

# Labels before a number that is what is measured, and before one that is not.
MEASURED = frozenset(
    {
        *("pos", "position", "val", "value", "len", "length", "dim", "meas", "measure", "reading"),
        *("act", "actual", "cur", "current", "dist", "distance", "dia", "diameter", "live", "data"),
        *("disp", "displacement", "result", "l", "x", "y", "z", "d", "h", "r", "m", "stylus"),
        *("spindle", "size", "thickness", "depth", "height", "reads", "now", "ist", "messwert"),
    }
)
OTHER_QUANTITIES = frozenset(
    {
        *("t", "temp", "temperature", "cnt", "count", "counter", "n", "no", "nr", "num", "number"),
        *("id", "addr", "sn", "serial", "bat", "batt", "battery", "vbat", "u", "volt", "ub"),
        *("time", "ts", "date", "err", "error", "e", "code", "stat", "status", "f", "force"),
        *("press", "pressure", "rh", "hum", "humidity", "speed", "vel", "v", "rate", "feed"),
        *("sum", "crc", "chk", "cs", "bcc", "ms", "sec", "s", "tick", "ticks", "uptime", "lot"),
        *("ver", "version", "rev", "fw", "ch", "chan", "channel", "seq"),
        *("part", "job", "shift", "op", "operator", "sigma", "std"),
    }
)
# Lengths, but not the one that the spindle shows now.
OTHER_LENGTHS = frozenset(
    {
        *("max", "min", "hi", "lo", "high", "low", "maximum", "minimum", "peak", "range", "span"),
        *("nom", "nominal", "set", "soll", "target", "lim", "limit", "tol", "usl", "lsl", "utl"),
        *("ltl", "upper", "lower", "master", "preset", "ref", "zero", "offset", "avg", "mean"),
        *("tir", "dev", "deviation", "delta", "diff", "prev", "last", "old", "before", "grade"),
    }
)

CODES = frozenset({"err", "error", "e", "code", "stat", "status"})

# Words behind or beside a number that say something of it without changing it.
VERDICTS = frozenset(
    {
        *("ok", "ng", "go", "nogo", "pass", "fail", "hi", "lo", "s", "u", "st", "us", "stable"),
        *("unstable", "still", "moving", "good", "bad", "h", "l", "d", "m", "r", "abs", "rel"),
        *("<", "=", ">"),
    }
)

STATES = {
    "over-range": ("over", "ovr", "ovf", "ofl", "under", "udr", "range", "out", "limit", "ol"),
    "low-battery": ("bat", "lowb", "lb", "power"),
    "error": ("err", "fault", "fail", "bad", "inv", "no ", "none", "wait", "e", "-", "?", "*"),
}


def length_unit(word: str) -> SourceUnit | None:
    """The unit of length that a word names, or None."""
    return LENGTHS.get(word.lower())


def state_word(message: str) -> str | None:
    """What a message without a number most likely says, or None."""
    text = message.strip(" \t\x02\x03").lower()
    for state, beginnings in STATES.items():
        if any(text.startswith(beginning) for beginning in beginnings):
            return state
    return None

"""What people read where software reads a code; one place, so that every format says the same."""

import re

from daq.head.characteristic import CATALOGUE
from daq.head.decide import Verdict
from daq.head.measurement import Measurement, Status

# A shape for each, so that a page printed in black and white still tells them apart.
SHAPES: dict[Status, str] = {
    Status.PASS: "✓",
    Status.FAIL: "✗",
    Status.INDETERMINATE: "?",
    Status.NOT_ANALYZED: "·",
    Status.VOID: "⊘",
}
SAID: dict[Status, str] = {
    Status.PASS: "proven in",
    Status.FAIL: "proven out",
    Status.INDETERMINATE: "not proven",
    Status.NOT_ANALYZED: "no limit",
    Status.VOID: "void",
}
VERDICT_SHAPES: dict[Verdict, str] = {
    Verdict.ACCEPT: "✓",
    Verdict.REWORK: "↻",
    Verdict.REPLACE: "✗",
    Verdict.UNSURE: "?",
    Verdict.NOT_MEASURED: "○",
}
# Longest first: one name may begin with another.
_NAMES = re.compile(rf"\b({'|'.join(sorted(map(re.escape, CATALOGUE), key=len, reverse=True))})\b")


def standing(m: Measurement) -> str:
    """A status in words, with what takes its weight away."""
    said = SAID[m.status]
    if m.superseded:
        return f"{said}, overtaken"
    return said if m.complete or m.status is Status.VOID else f"{said}, incomplete"


def name_of(characteristic: str) -> str:
    """`valve.stem_runout` as people say it: valve stem runout."""
    return characteristic.replace(".", " ").replace("_", " ")


def in_words(text: str) -> str:
    """A sentence of the record with the names of characteristics as people say them."""
    return _NAMES.sub(lambda found: name_of(found.group()), text)

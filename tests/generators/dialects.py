"""Invented ways of speaking, made up at random, with the truth in millimetres.

A spindle is moved as a hand moves it; around its number stand other things, drawn at random: what
a gauge might put there. Nothing of it knows how listening works.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import ROUND_HALF_EVEN, Decimal
from functools import reduce
from operator import xor

MM_PER_INCH = Decimal("25.4")


@dataclass(frozen=True)
class Dialect:
    """messages: bytes and the millimetres in them. drawn: what was drawn, in words."""

    messages: list[tuple[bytes, Decimal]]
    drawn: str


def spindle_mm(rng: random.Random, count: int, largest: float) -> list[float]:
    """Where a hand holds and moves a spindle."""
    low = rng.choice([-largest, 0.0])
    x, places = rng.uniform(low, largest), []
    while len(places) < count:
        target, ease = rng.uniform(low, largest), rng.choice([0.0, 0.1, 0.4])
        for _ in range(rng.randint(3, 8)):
            x += (target - x) * ease if ease else rng.gauss(0, 0.0005)
            places.append(x)
    return places[:count]


def dialect(seed: int) -> Dialect:
    """One, always the same for the same seed."""
    rng = random.Random(seed)
    unit, factor, decimals = rng.choice(
        [
            ("mm", 1, 3),
            ("mm", 1, 2),
            ("mm", 1, 4),
            ("in", 25.4, 4),
            ("in", 25.4, 5),
            ("um", 0.001, 0),
        ]
    )
    named = unit != "mm" or decimals == 4 or rng.random() < 0.6
    spoken = rng.choice({"mm": ["mm", "MM"], "in": ["in", "IN", "inch"], "um": ["um"]}[unit])
    largest = rng.choice([0.8, 3.0, 9.0, 40.0])
    number = _number(rng, decimals)
    before = [_other(rng) for _ in range(rng.choice([0, 0, 0, 1, 1, 2]))]
    behind = [_other(rng) for _ in range(rng.choice([0, 0, 0, 1, 1, 2]))]
    label = rng.choice(["", "", "", "L", "POS", "val=", "D:"])
    joint = rng.choice([" ", " ", ",", ";", "\t", "  "])
    joint = joint if not (joint == "," and number.comma) else ";"
    glue = rng.choice(["", " "])
    end = rng.choice(["\r\n", "\r\n", "\r", "\n"])
    stx = rng.random() < 0.15
    check = rng.choice([None, None, None, None, "xor", "sum", "neg"])
    star = rng.choice(["*", " ", ","])
    messages = []
    for index, mm in enumerate(spindle_mm(rng, rng.choice([12, 25, 60]), largest)):
        value = Decimal(repr(mm / factor)).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
        measured = label + number.text(value) + (glue + spoken if named else "")
        fields = [*(f(index) for f in before), measured, *(f(index) for f in behind)]
        body = joint.join(fields)
        line = f"\x02{body}\x03" if stx else body
        if check is not None:
            line += star + _check(check, line)
        truth = value * {"mm": Decimal(1), "in": MM_PER_INCH, "um": Decimal("0.001")}[unit]
        messages.append(((line + end).encode("latin-1"), truth))
    drawn = f"{unit} named={named} {number} {check} {joint!r} {messages[0][0]!r}"
    return Dialect(messages, drawn)


@dataclass(frozen=True)
class _Number:
    width: int
    plus: bool
    pad: str
    comma: bool
    decimals: int

    def text(self, value: Decimal) -> str:
        sign = "-" if value < 0 else "+" if self.plus else ""
        digits = f"{abs(value):.{self.decimals}f}"
        if self.pad == "0":
            shown = sign + digits.rjust(self.width, "0")
        else:
            shown = (sign + digits).rjust(self.width)
        return shown.replace(".", ",") if self.comma else shown


def _number(rng: random.Random, decimals: int) -> _Number:
    plain = rng.random() < 0.4
    return _Number(
        0 if plain else decimals + rng.choice([3, 4, 5]),
        rng.random() < 0.5,
        rng.choice(["0", " "]),
        rng.random() < 0.2,
        decimals,
    )


def _check(kind: str, line: str) -> str:
    data = line.encode("latin-1")
    value = reduce(xor, data, 0) if kind == "xor" else sum(data)
    return f"{(-value if kind == 'neg' else value) & 0xFF:02X}"


def _other(rng: random.Random) -> Callable[[int], str]:
    """Something else on the line, by the number of the message."""
    start = rng.randint(0, 4000)
    warm = [round(20 + 3 * rng.random() + 0.003 * i * rng.random(), 1) for i in range(60)]
    force = [round(0.5 + 0.2 * rng.random(), 2) for _ in range(60)]
    begun = datetime(2031, 4, 5, 10, 11, rng.randint(0, 40))  # noqa: DTZ001 - no zone is spoken
    return rng.choice(
        [
            lambda i: f"{start + i:05d}",
            lambda i: f"#{start + i}",
            lambda i: f"N={start + i}",
            lambda i: f"{warm[i]:.1f}C",
            lambda i: f"T={warm[i]:.1f}",
            lambda i: f"TEMP {warm[i]:.1f}",
            lambda i: f"{force[i]:.2f}N",
            lambda i: (begun + timedelta(seconds=i)).strftime("%H:%M:%S"),
            lambda i: (begun + timedelta(seconds=i)).strftime("%Y-%m-%d %H:%M:%S"),
            lambda i: (begun + timedelta(seconds=i)).strftime("%d.%m.%Y"),
            lambda _: "ST",
            lambda i: "OK" if i % 3 else "NG",
            lambda _: "00",
            lambda _: f"ID{start}",
            lambda i: f"BAT {98 - i // 20}%",
            lambda _: f"{start % 9 + 1:02d}",
        ]
    )

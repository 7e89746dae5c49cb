"""Read a sound with a profile, through the same wire that will read the gauge."""

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from drivers.find.placing.split import Sound
from drivers.profile import CANONICAL, Profile
from drivers.reading import State, Unit, on_value_grid
from drivers.wires.base import Heard, Wire
from drivers.wires.registry import WIRES

RAW_CHARS_MAX = 80


class Said(NamedTuple):
    """One reading: the bytes it was read from, the number in its canonical unit.

    value: NaN where the state is not OK.
    """

    raw: str
    value: float
    unit: Unit
    channel: str
    state: State


class Reads(NamedTuple):
    """What a profile makes of a sound. used_share: of the bytes, that were understood."""

    said: list[Said]
    used_share: float


def read_with(profile: Profile, sound: Sound) -> Reads:
    """Feed byte by byte, so that every reading is seen with the bytes that completed it."""
    said: list[Said] = []
    missed = 0
    for piece in _pieces(profile, sound):
        wire = _wire(profile, sound)
        begin = 0
        for end in range(1, len(piece) + 1):
            heard = wire.feed(piece[end - 1 : end])
            if heard:
                said += _said(profile, heard, _raw(piece[begin:end]))
                begin = end
        missed += wire.rejected_bytes + wire.skipped_bytes
    return Reads(said, 1 - missed / max(1, len(sound.data)))


def _pieces(profile: Profile, sound: Sound) -> list[bytes]:
    """What one wire reads in one go: over a socket, Modbus takes one answer to each request."""
    if profile.modbus is None or profile.modbus.framing != "tcp":
        return [sound.data]
    return [sound.data[a:b] for a, b in pairwise((*sound.starts, len(sound.data)))]


def _wire(profile: Profile, sound: Sound) -> Wire:
    wire: Wire = WIRES[profile.wire].described(profile.model_dump())
    wire.restart(torn=not sound.whole_start)
    if sound.asked:
        wire.ask()
    return wire


def _said(profile: Profile, heard: list[Heard], raw: str) -> Iterator[Said]:
    for run in heard:
        unit, factor = CANONICAL[profile.unit_of(run.unit)]
        for number in run.numbers:
            ok = run.state is State.OK
            value = on_value_grid(Decimal(number) * factor) if ok else float("nan")
            yield Said(raw, value + 0.0, unit, run.channel, run.state)


def may_read(profile: Profile, sound: Sound, count: int) -> bool:
    """Whether a profile makes as many readings of it; quicker than `read_with`."""
    heard = _wire(profile, sound).feed(sound.data)
    return sum(len(run.numbers) for run in heard) == count


def _raw(data: bytes) -> str:
    """The last line of text, or all bytes in hexadecimal."""
    text = data.decode("latin-1")
    plain = text.strip("\r\n \t\x02\x03\x04")
    if plain and all(char.isprintable() or char in "\r\n\t" for char in plain):
        return plain.replace("\n", "\r").split("\r")[-1].strip()[-RAW_CHARS_MAX:]
    return data[-RAW_CHARS_MAX // 3 :].hex(" ")

"""Read a sound with a profile, through the same wire that will read the gauge."""

from decimal import Decimal
from typing import NamedTuple

from drivers.find.placing.split import Sound
from drivers.profile import CANONICAL, Profile
from drivers.reading import State, Unit, on_value_grid
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
    wire = WIRES[profile.wire].described(profile.model_dump())
    wire.restart(torn=not sound.whole_start)
    if sound.asked:
        wire.ask()
    said: list[Said] = []
    begin = 0
    for end in range(1, len(sound.data) + 1):
        heard = wire.feed(sound.data[end - 1 : end])
        if not heard:
            continue
        raw = _raw(sound.data[begin:end])
        begin = end
        for run in heard:
            unit, factor = CANONICAL[profile.unit_of(run.unit)]
            for number in run.numbers:
                ok = run.state is State.OK
                value = on_value_grid(Decimal(number) * factor) if ok else float("nan")
                said.append(Said(raw, value + 0.0, unit, run.channel, run.state))
    missed = wire.rejected_bytes + wire.skipped_bytes
    return Reads(said, 1 - missed / max(1, len(sound.data)))


def may_read(profile: Profile, sound: Sound, count: int) -> bool:
    """Whether a profile makes as many readings of it; quicker than `read_with`."""
    wire = WIRES[profile.wire].described(profile.model_dump())
    wire.restart(torn=not sound.whole_start)
    if sound.asked:
        wire.ask()
    return sum(len(run.numbers) for run in wire.feed(sound.data)) == count


def _raw(data: bytes) -> str:
    """The last line of text, or all bytes in hexadecimal."""
    text = data.decode("latin-1")
    plain = text.strip("\r\n \t\x02\x03\x04")
    if plain and all(char.isprintable() or char in "\r\n\t" for char in plain):
        return plain.replace("\n", "\r").split("\r")[-1].strip()[-RAW_CHARS_MAX:]
    return data[-RAW_CHARS_MAX // 3 :].hex(" ")

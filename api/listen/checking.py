"""`benchtally gauges --check`: is the profile right, and what does it find in recorded bytes."""

from collections.abc import Callable, Iterator
from pathlib import Path

from api.files import read_within
from drivers.find.placing.place import placed
from drivers.find.placing.reads import read_with
from drivers.find.placing.registers import request_of
from drivers.find.placing.split import Sound
from drivers.profile import Profile, load_profile, shipped_profiles
from drivers.reading import State
from drivers.wires.registry import WIRES

SAMPLE_BYTES_MAX = 4 << 20
MOST = 0.9  # of the bytes are understood, or something is not described


def checked(name: str, sample: Path | None, echo: Callable[[str], None]) -> bool:
    """Say line by line what there is to say; whether the profile does what it is for.

    Raises ProfileError, FileError.
    """
    profile = load_profile(name)
    if sample is None:
        echo(f"Profile {profile.name!r} holds: {profile.about}")
        return True
    data = read_within(sample, SAMPLE_BYTES_MAX, "give a shorter piece")
    if not data:
        echo(f"{sample} holds no bytes: record some of what the gauge says.")
        return False
    sound = _sound(profile, data)
    reads = read_with(profile, sound)
    for said in reads.said:
        value = f"{said.value:g}" if said.state is State.OK else str(said.state)
        channel = f"{said.channel}: " if said.channel else ""
        echo(f"{said.raw!r}  →  {channel}{value} {said.unit}")
    echo(
        f"{len(reads.said)} readings understood as profile {profile.name!r}; "
        f"{100 * (1 - reads.used_share):.0f} % of {len(data)} bytes were not understood."
    )
    if not reads.said or reads.used_share < MOST:
        for line in _not_understood(profile, data):
            echo(line)
    return bool(reads.said)


def _sound(profile: Profile, data: bytes) -> Sound:
    asked = profile.ask.request.encode("ascii") if profile.ask and profile.ask.request else b""
    return Sound(data, (), True, asked or (request_of(profile) if profile.modbus else b""))


def _not_understood(profile: Profile, data: bytes) -> Iterator[str]:
    """What the profile does not take, and how these bytes might be described instead."""
    wire = WIRES[profile.wire].described(profile.model_dump())
    wire.ask()
    wire.feed(data)
    if last := wire.last_rejected:
        text = last.decode("latin-1")
        yield f"The last of what was not understood: {text!r}, in hexadecimal {last.hex(' ')}."
    else:
        yield "They are the beginning of a message that does not end."
    shipped = [load_profile(name) for name in shipped_profiles()]
    found = placed(Sound(data), profile.serial.model_dump(mode="json", exclude_none=True), shipped)
    if not found.proposals:
        yield f"Nor can it be made out what they say: {found.why}."
    elif found.proposals[0].toml:
        yield "A profile that reads them:"
        yield found.proposals[0].toml
    else:
        yield f"The shipped profile {found.proposals[0].profile.name!r} reads them."

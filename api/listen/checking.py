"""`benchtally gauges --check`: is the profile right, and what does it find in recorded bytes."""

from collections.abc import Iterator
from pathlib import Path

from api.files import read_within
from drivers.find.placing.reads import read_with
from drivers.find.placing.split import Sound
from drivers.profile import Profile, load_profile
from drivers.reading import State

SAMPLE_BYTES_MAX = 4 << 20


def checked(name: str, sample: Path | None) -> Iterator[str]:
    """What there is to say, line by line. Raises ProfileError, FileError."""
    profile = load_profile(name)
    if sample is None:
        yield f"Profile {profile.name!r} holds: {profile.about}"
        return
    yield from _readings(profile, read_within(sample, SAMPLE_BYTES_MAX, "give a shorter piece"))


def _readings(profile: Profile, data: bytes) -> Iterator[str]:
    asked = profile.ask.request.encode("ascii") if profile.ask and profile.ask.request else b""
    reads = read_with(profile, Sound(data, (), True, asked))
    for said in reads.said:
        value = f"{said.value:g}" if said.state is State.OK else str(said.state)
        channel = f"{said.channel}: " if said.channel else ""
        yield f"{said.raw!r}  →  {channel}{value} {said.unit}"
    yield (
        f"{len(reads.said)} readings understood as profile {profile.name!r}; "
        f"{100 * (1 - reads.used_share):.0f} % of {len(data)} bytes were not understood."
    )

"""`benchtally gauges --check`: is the profile right, and what does it find in recorded bytes."""

from collections.abc import Iterator
from pathlib import Path

from drivers.find.placing.reads import read_with
from drivers.find.placing.split import Sound
from drivers.profile import Profile, load_profile
from drivers.reading import State

SAMPLE_BYTES_MAX = 4 << 20


class SampleError(ValueError):
    """The recorded bytes cannot be read."""


def checked(name: str, sample: Path | None) -> Iterator[str]:
    """What there is to say, line by line. Raises ProfileError, SampleError."""
    profile = load_profile(name)
    if sample is None:
        yield f"Profile {profile.name!r} holds: {profile.about}"
        return
    yield from _readings(profile, _bytes_of(sample))


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


def _bytes_of(sample: Path) -> bytes:
    try:
        with sample.open("rb") as file:
            data = file.read(SAMPLE_BYTES_MAX + 1)
    except OSError as error:
        raise SampleError(f"{sample} cannot be read: {error.strerror}.") from None
    if len(data) > SAMPLE_BYTES_MAX:
        raise SampleError(
            f"{sample} is larger than {SAMPLE_BYTES_MAX} bytes; give a shorter piece."
        )
    return data

"""From a sound to proposals: what the gauge most likely says, and by which profile to read it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drivers.find.placing.binary import found_frame
from drivers.find.placing.reads import Reads, Said, may_read, read_with
from drivers.find.placing.split import Sound
from drivers.find.placing.text import Heard, best_of, heard_as_text, is_text
from drivers.find.placing.toml import tables_of, toml_of
from drivers.profile import Profile, ProfileError, parse_profile
from drivers.reading import State, Unit

OWN_NAME = "heard"
ABOUT = "What was heard on this port looks like this, again and again."
FEW_MESSAGES = 4
FRAMES_MIN = 5
ALMOST_ALL = 0.95
START_BYTES_MIN = 2
OTHER_UNIT = 0.8
SCORE_SHIPPED_FRAME, SCORE_CHECKED_FRAME, SCORE_FRAME, LESS_WHEN_ASSUMED = 0.95, 0.85, 0.7, 0.1


@dataclass(frozen=True)
class Proposal:
    """A way to read what was heard.

    profile: what reads it. toml: the text of a profile made for it, "" for a shipped one. score:
    0 to 1. assumed: what was taken for granted, in words. said: the readings.
    """

    profile: Profile
    score: float
    said: tuple[Said, ...]
    assumed: tuple[str, ...] = ()
    toml: str = ""


@dataclass(frozen=True)
class Placed:
    """All proposals, the best first, and what stands in the way of one where there is none.

    start: a profile to start from where more is known than the bytes show.
    """

    proposals: tuple[Proposal, ...]
    why: str = ""
    text: Heard | None = None
    start: str = ""


def placed(sound: Sound, serial: Mapping[str, Any], shipped: Sequence[Profile]) -> Placed:
    """Place what was heard. serial: the line settings it was heard with, for the profile.

    shipped: the profiles that may be proposed by name.
    """
    if not sound.data:
        return Placed((), "nothing was heard")
    heard = best_of(list(heard_as_text(sound))) if is_text(sound.data) else None
    if heard is not None and heard.found is not None:
        return placed_text(heard, sound, serial, shipped)
    known = [p for profile in shipped if (p := _known_frame(profile, sound)) is not None]
    if known:
        return Placed(tuple(known), "", heard)
    return _placed_frames(heard, sound, serial, shipped)


def placed_text(
    heard: Heard, sound: Sound, serial: Mapping[str, Any], shipped: Sequence[Profile]
) -> Placed:
    """Place what was made out as text."""
    found = heard.found
    if found is None or found.unit is None:
        return Placed((), heard.why, heard)
    clear = 0.6 + 0.03 * min(10, found.points) - LESS_WHEN_ASSUMED * bool(found.assumed)
    if found.messages < FEW_MESSAGES:
        clear *= 0.7
    tables = tables_of(ABOUT, str(found.unit), ("picture", found.table), sound, serial)
    own = _own(tables, sound, clear * found.share, found.assumed, found.values())
    return _proposed(own, sound, shipped, heard)


def _placed_frames(
    heard: Heard | None, sound: Sound, serial: Mapping[str, Any], shipped: Sequence[Profile]
) -> Placed:
    found, why = found_frame(sound, heard.split if heard is not None else None)
    if found is None or found.unit is None:
        lines = heard is not None and not heard.split.end and heard.split.chars is None
        return Placed(
            (), heard.why if heard is not None and lines and found is None else why, heard
        )
    score = SCORE_CHECKED_FRAME if found.checked else SCORE_FRAME
    score -= LESS_WHEN_ASSUMED * bool(found.assumed)
    tables = tables_of(ABOUT, str(found.unit), ("frame", found.table), sound, serial)
    own = _own(tables, sound, score, found.assumed, found.values)
    return _proposed(own, sound, shipped, heard)


def _own(
    tables: Mapping[str, Any],
    sound: Sound,
    score: float,
    assumed: tuple[str, ...],
    values: frozenset[float],
) -> Proposal | None:
    """A profile of our own making, when it reads back what was heard: these values."""
    text = toml_of(tables, "Made by listening; check it against the gauge's display.")
    try:
        profile = parse_profile(text, OWN_NAME, f"{OWN_NAME}.toml")
    except ProfileError:
        return None  # it cannot be said in a profile: too long, or with words no profile takes
    reads = read_with(profile, sound)
    said = lengths(reads)
    if not said or sum(s.value in values for s in said) < ALMOST_ALL * len(said):
        return None
    score = round(min(1.0, score) * min(1.0, reads.used_share + 0.1), 3)
    return Proposal(profile, score, tuple(reads.said), assumed, text)


def _proposed(
    own: Proposal | None, sound: Sound, shipped: Sequence[Profile], heard: Heard | None
) -> Placed:
    """The shipped profiles that read the same, or else the one that was made."""
    if own is None:
        return Placed((), "what was made out does not read back", heard)
    same = [p for profile in shipped if (p := _shipped(profile, sound, own)) is not None]
    # One that takes another unit for granted reads the same only as long as the unit is spoken.
    same.sort(key=lambda p: p.profile.unit is not own.profile.unit)
    return Placed(tuple(same) or (own,), "", heard)


def lengths(reads: Reads) -> list[Said]:
    """The readings that are lengths, and numbers."""
    return [s for s in reads.said if s.state is State.OK and s.unit is Unit.MM]


def _asks_as(profile: Profile, sound: Sound) -> bool:
    """Whether the profile asks with what was asked, or not at all where nothing was."""
    asks = (profile.ask.request or "").encode("ascii") if profile.ask else b""
    return asks == sound.asked and profile.wire not in ("modbus", "typed")


def _shipped(profile: Profile, sound: Sound, own: Proposal) -> Proposal | None:
    """A shipped profile that reads the same numbers from the same bytes."""
    if not _asks_as(profile, sound):
        return None
    if not may_read(profile, sound, len(own.said)):
        return None
    reads = read_with(profile, sound)
    if not _alike(reads.said, own.said):
        return None
    score = own.score * (1 if profile.unit is own.profile.unit else OTHER_UNIT)
    return Proposal(profile, round(score, 3), tuple(reads.said), own.assumed)


def _known_frame(profile: Profile, sound: Sound) -> Proposal | None:
    """A shipped frame that proves itself: by its checksum, or by what it says of its number."""
    frame = profile.frame
    if frame is None or not _asks_as(profile, sound):
        return None
    told = len(frame.start) >= START_BYTES_MIN and frame.decimals and frame.unit
    if frame.checksum is None and not told:
        return None
    reads = read_with(profile, sound)
    if reads.used_share < ALMOST_ALL or len(lengths(reads)) < FRAMES_MIN:
        return None
    return Proposal(profile, SCORE_SHIPPED_FRAME, tuple(reads.said))


def _alike(one: Sequence[Said], other: Sequence[Said]) -> bool:
    mine = [(s.value, s.channel) for s in one if not math.isnan(s.value)]
    theirs = [(s.value, s.channel) for s in other if not math.isnan(s.value)]
    return bool(mine) and mine == theirs

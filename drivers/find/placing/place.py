"""From a sound to proposals: what the gauge most likely says, and by which profile to read it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drivers.find.placing.reads import Reads, Said, read_with
from drivers.find.placing.split import Sound
from drivers.find.placing.text import Found, Heard, best_of, heard_as_text, is_text
from drivers.find.placing.toml import toml_of
from drivers.profile import Profile, parse_profile
from drivers.reading import State, Unit

OWN_NAME = "heard"
SHARE_MIN = 0.5
FEW_MESSAGES = 4
ALIKE_SHARE_MIN = 0.95


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
    """All proposals, the best first, and what stands in the way of one where there is none."""

    proposals: tuple[Proposal, ...]
    why: str = ""
    text: Heard | None = None


def placed(sound: Sound, serial: Mapping[str, Any], shipped: Sequence[Profile]) -> Placed:
    """Place what was heard. serial: the line settings it was heard with, for the profile.

    shipped: the profiles that may be proposed by name.
    """
    if not sound.data:
        return Placed((), "nothing was heard")
    heard = best_of(list(heard_as_text(sound))) if is_text(sound.data) else None
    if heard is None:
        return Placed((), "these bytes are no text, and no frame was found in them")
    return placed_text(heard, sound, serial, shipped)


def placed_text(
    heard: Heard, sound: Sound, serial: Mapping[str, Any], shipped: Sequence[Profile]
) -> Placed:
    """Place what was made out as text."""
    found = heard.found
    if found is None or found.unit is None:
        return Placed((), heard.why, heard)
    if found.share < SHARE_MIN:
        return Placed((), "less than half of what was heard looks alike", heard)
    own = _own(found, sound, serial)
    if own is None:
        return Placed((), "what was made out does not read back", heard)
    same = [p for profile in shipped if (p := _shipped(profile, sound, own)) is not None]
    return Placed(tuple(same) or (own,), "", heard)


def _own(found: Found, sound: Sound, serial: Mapping[str, Any]) -> Proposal | None:
    tables: dict[str, Any] = {
        "about": f"Made by listening: {found.messages} messages like the picture below.",
        "wire": "ask" if sound.asked else "picture",
        "unit": str(found.unit),
        "serial": dict(serial),
        "picture": found.table,
    }
    if sound.asked:
        tables["ask"] = {"request": sound.asked.decode("ascii"), "period_s": 0.2}
    text = toml_of(tables, "Made by listening; check it against the gauge's display.")
    profile = parse_profile(text, OWN_NAME, f"{OWN_NAME}.toml")
    reads = read_with(profile, sound)
    said = lengths(reads)
    if not said:
        return None
    score = round(_score(found) * min(1.0, reads.used_share + 0.1), 3)
    return Proposal(profile, score, tuple(reads.said), found.assumed, text)


def _score(found: Found) -> float:
    clear = 0.6 + 0.03 * min(10, found.points)
    if found.assumed:
        clear -= 0.1
    if found.messages < FEW_MESSAGES:
        clear *= 0.7
    return clear * found.share


def lengths(reads: Reads) -> list[Said]:
    """The readings that are lengths, and numbers."""
    return [s for s in reads.said if s.state is State.OK and s.unit is Unit.MM]


def _shipped(profile: Profile, sound: Sound, own: Proposal) -> Proposal | None:
    """A shipped profile that reads the same numbers from the same bytes."""
    asks = (profile.ask.request or "").encode("ascii") if profile.ask else b""
    if asks != sound.asked or profile.wire == "modbus":
        return None
    reads = read_with(profile, sound)
    if not _alike(reads.said, own.said):
        return None
    return Proposal(profile, own.score, tuple(reads.said), own.assumed)


def _alike(one: Sequence[Said], other: Sequence[Said]) -> bool:
    mine = [(s.value, s.channel) for s in one if not math.isnan(s.value)]
    theirs = [(s.value, s.channel) for s in other if not math.isnan(s.value)]
    return bool(mine) and mine == theirs

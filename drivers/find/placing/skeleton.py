"""A profile to fill in by hand, as far as it could be made out."""

from collections import Counter
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from drivers.find.placing.draw import drawn
from drivers.find.placing.split import Sound
from drivers.find.placing.text import Heard
from drivers.find.placing.toml import tables_of, toml_of

ABOUT = "What it is, in a sentence."


def skeleton(sound: Sound, heard: Heard | None, serial: Mapping[str, Any]) -> str:
    """TOML that becomes a profile when the measured number is named in it."""
    if heard is not None and heard.groups:
        group = heard.groups[0]
        example = heard.split.messages[group.rows[0]]
        table = drawn(group, (), heard.split, None, ())
        comment = (
            f"A message was {example!r}.\n"
            "Write {number} where the measured number stands, and say its unit."
        )
        return toml_of(tables_of(ABOUT, "mm", ("picture", table), sound, serial), comment)
    size = _usual_size(sound)
    comment = (
        f"A message may be {size} bytes long, like {sound.data[:size].hex(' ')}.\n"
        "Say where the number stands, in half bytes from 0, what a count is worth, and the unit."
    )
    number = {"at": 2, "digits": 4, "kind": "unsigned", "order": "high-first", "step": "0.001"}
    frame = {"bytes": size, "start": sound.data[:1].hex(), "number": number}
    return toml_of(tables_of(ABOUT, "mm", ("frame", frame), sound, serial), comment)


def _usual_size(sound: Sound) -> int:
    """How long a burst is, most often."""
    sizes = Counter(b - a for a, b in pairwise((*sound.starts, len(sound.data))))
    size = sizes.most_common(1)[0][0] if sizes else len(sound.data)
    return max(2, min(64, size))

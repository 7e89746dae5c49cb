"""A profile to fill in by hand, as far as it could be made out."""

from collections import Counter
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from drivers.find.placing.draw import drawn
from drivers.find.placing.split import Sound
from drivers.find.placing.text import Heard
from drivers.find.placing.toml import toml_of


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
        tables = _head("picture", sound, serial)
        return toml_of({**tables, "picture": table}, comment)
    size = _usual_size(sound)
    comment = (
        f"A message may be {size} bytes long, like {sound.data[:size].hex(' ')}.\n"
        "Say where the number stands, in half bytes from 0, what a count is worth, and the unit."
    )
    frame = {"bytes": size, "start": sound.data[:1].hex()}
    number = {"at": 2, "digits": 4, "kind": "unsigned", "order": "high-first", "step": "0.001"}
    tables = _head("frame", sound, serial)
    return toml_of({**tables, "frame": {**frame, "number": number}}, comment)


def _head(wire: str, sound: Sound, serial: Mapping[str, Any]) -> dict[str, Any]:
    tables: dict[str, Any] = {
        "about": "What it is, in a sentence.",
        "wire": "ask" if sound.asked else wire,
        "unit": "mm",
        "serial": dict(serial),
    }
    if sound.asked:
        tables["ask"] = {"request": sound.asked.decode("ascii"), "period_s": 0.2}
    return tables


def _usual_size(sound: Sound) -> int:
    """How long a burst is, most often."""
    sizes = Counter(b - a for a, b in pairwise((*sound.starts, len(sound.data))))
    size = sizes.most_common(1)[0][0] if sizes else len(sound.data)
    return max(2, min(64, size))

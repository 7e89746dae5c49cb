"""Proposals as lines of JSON, one each, the best first."""

import json
import math
from pathlib import Path
from typing import Any

from drivers.find.overhear import Overheard
from drivers.find.placing.place import Proposal
from drivers.find.placing.reads import Said
from drivers.reading import Unit

READINGS_MAX = 500


def json_lines(port: str, heard: Overheard, out: Path | None) -> list[str]:
    """A line for every proposal: port, profile, score, settings, readings.

    profile: the name of a shipped one, or the path of the one that was written into the folder
    `out`; without `out` nothing is written, the name is that of the proposal and its text stands
    in settings as `profile_toml`. settings: the line's, with what was `assumed`.
    """
    return [
        json.dumps(_entry(port, heard, proposal, out), ensure_ascii=False, allow_nan=False)
        for proposal in heard.placed.proposals
    ]


def _entry(port: str, heard: Overheard, proposal: Proposal, out: Path | None) -> dict[str, Any]:
    settings: dict[str, Any] = {**heard.settings, "assumed": list(proposal.assumed)}
    profile = proposal.profile.name
    if proposal.toml and out is not None:
        profile = str(written(proposal, out, port))
    elif proposal.toml:
        settings["profile_toml"] = proposal.toml
    return {
        "port": port,
        "profile": profile,
        "score": proposal.score,
        "settings": settings,
        "readings": [_reading(said) for said in proposal.said[:READINGS_MAX]],
    }


def _reading(said: Said) -> dict[str, Any]:
    """value_mm is null where the gauge said that it has no number."""
    is_length = said.unit is Unit.MM and not math.isnan(said.value)
    reading: dict[str, Any] = {"raw": said.raw, "value_mm": said.value if is_length else None}
    if said.channel:
        reading["channel"] = said.channel
    return reading


def written(proposal: Proposal, folder: Path, port: str) -> Path:
    """Write the profile that was made into `folder`, under a name that is still free."""
    folder.mkdir(parents=True, exist_ok=True)
    stem = "".join(c if c.isalnum() else "-" for c in port.rsplit("/", 1)[-1]).strip("-")
    number = 1
    while True:
        path = folder / f"{proposal.profile.name}-{stem}{f'-{number}' if number > 1 else ''}.toml"
        try:
            with path.open("x", encoding="utf-8") as file:
                file.write(proposal.toml)
        except FileExistsError:
            number += 1
        else:
            return path

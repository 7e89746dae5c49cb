"""The `[[gauge]]` section for a gauge that was found, and putting it into a `bench.toml`."""

import json
import math
from decimal import Decimal
from pathlib import Path

from drivers.find.placing.place import Proposal
from drivers.reading import State


def section(port: str, profile: str, proposal: Proposal, name: str, serial: str) -> str:
    """The section as TOML. profile: a shipped name or a path."""
    lines = [
        "[[gauge]]",
        f"name = {_quoted(name)}",
        f"serial = {_quoted(serial)}",
        f"port = {_quoted(port)}",
        f"profile = {_quoted(profile)}",
        f"resolution_mm = {resolution_mm(proposal)}",
    ]
    channels = sorted({said.channel for said in proposal.said if said.channel})
    if channels:
        lines.append(f"channel = {_quoted(channels[0])}  # one section for each of {channels}")
    return "\n".join(lines) + "\n"


def resolution_mm(proposal: Proposal) -> str:
    """The step of the display, as far as the readings show it: their greatest common step."""
    steps = {round(said.value * 1_000_000) for said in proposal.said if said.state is State.OK}
    return f"{Decimal(math.gcd(*steps) or 1000) / 1_000_000:f}"


def append(config: Path, text: str) -> None:
    """Add the section at the end of the file. Raises OSError."""
    before = config.read_text("utf-8") if config.exists() else ""
    gap = "" if not before or before.endswith("\n\n") else "\n" if before.endswith("\n") else "\n\n"
    with config.open("a", encoding="utf-8") as file:
        file.write(gap + text)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)

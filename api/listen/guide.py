"""Lead a person from an unknown gauge to its `[[gauge]]` section."""

import asyncio
import time
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from api.listen.proposals import written
from api.listen.section import append, section
from api.listen.words import heard_words, proposal_words, unplaced_words
from drivers.find.again import again
from drivers.find.overhear import Overheard
from drivers.find.placing.moved import moved
from drivers.find.placing.place import Proposal, placed_text
from drivers.find.placing.reads import read_with
from drivers.find.placing.text import settled
from drivers.profile import Profile, SourceUnit
from drivers.reading import State

MOVE_S = 4.0
FOLLOWED_MM = 0.05  # the least that somebody who moves a spindle on purpose moves it


class Person(Protocol):
    """Who sits before the gauge."""

    @property
    def present(self) -> bool:
        """Whether somebody can be asked."""
        ...

    def say(self, text: str) -> None:
        """Tell them."""
        ...

    def ask(self, question: str, default: str) -> str:
        """An answer, or the default."""
        ...


def lead(
    port: str,
    name: str,
    heard: Overheard,
    shipped: list[Profile],
    person: Person,
    config: Path | None,
    out: Path | None,
) -> bool:
    """Say what was heard, clear up what is in doubt, and give the section; whether it was placed.

    port: what is opened. name: what the section names it by. The section goes to the end of
    `config`, else it is said. A profile that was made for the gauge goes into the folder `out`,
    else beside `config`, else it is said, too.
    """
    for line in heard_words(heard):
        person.say(line)
    if person.present and not heard.placed.proposals and heard.placed.text is not None:
        heard = _cleared_up(port, heard, shipped, person)
    if not heard.placed.proposals:
        for line in unplaced_words(heard):
            person.say(line)
        return False
    for proposal in heard.placed.proposals:
        for line in proposal_words(proposal):
            person.say(line)
    best = heard.placed.proposals[0]
    if person.present and not _confirmed(port, heard, best, person):
        return False
    _give(name, best, person, config, out)
    return True


def _cleared_up(port: str, heard: Overheard, shipped: list[Profile], person: Person) -> Overheard:
    """Ask for what the bytes alone do not tell: which number moves, and its unit."""
    text = heard.placed.text
    if text is None:
        return heard
    if text.found is None:
        person.say(f"In doubt: {heard.placed.why}.")
        person.ask("Move the spindle to and fro until told to stop. Press Enter to begin", "")
        which = moved(text, asyncio.run(again(port, heard, MOVE_S, time.monotonic)))
        if which is None:
            person.say("No single number followed the spindle.")
            return heard
        person.say(f"The number that was {which[1].column.texts[-1]} follows the spindle.")
        text = settled(text, which[0], [which[1]])
    if text.found is not None and text.found.unit is None:
        unit = person.ask("Does the display show mm or in", "mm").strip().lower()
        if unit not in ("mm", "in", "um"):
            return heard
        found = replace(text.found, unit=SourceUnit(unit), assumed=("the unit: as you said",))
        text = replace(text, found=found)
    placed = placed_text(text, heard.sound, heard.settings, shipped)
    return replace(heard, placed=placed)


def _confirmed(port: str, heard: Overheard, best: Proposal, person: Person) -> bool:
    """The number has to follow the spindle before anybody believes it."""
    person.ask("Move the spindle to and fro until told to stop. Press Enter to begin", "")
    sound = asyncio.run(again(port, heard, MOVE_S, time.monotonic))
    values = [s.value for s in read_with(best.profile, sound).said if s.state is State.OK]
    travel = max(values) - min(values) if values else 0.0
    if travel >= FOLLOWED_MM:
        person.say(f"It follows: from {min(values):g} to {max(values):g} mm.")
        return True
    person.say("The number did not follow the spindle, so nothing is proposed. Listen again.")
    return False


def _give(port: str, best: Proposal, person: Person, config: Path | None, out: Path | None) -> None:
    profile = best.profile.name
    if best.toml:
        folder = out or (config.parent if config else None)
        if folder is None:
            person.say("The profile, to save as a .toml file and name by its path:")
            person.say(best.toml)
            profile = f"./{profile}.toml"
        else:
            path = written(best, folder, port)
            person.say(f"Wrote {path}.")
            # A path in the config counts from the folder of the config.
            profile = f"./{path.name}" if config and folder == config.parent else str(path)
    name, serial = "gauge", ""
    if person.present:
        name = person.ask("What is this gauge called", name)
        serial = person.ask("Its serial number", serial)
    text = section(port, profile, best, name, serial)
    if config is None:
        person.say("Put this into bench.toml:")
        person.say(text)
    else:
        append(config, text)
        person.say(f"Added to {config}:")
        person.say(text)

"""What `benchtally gauges` does, for a person and for a program; answers the exit code."""

import asyncio
import os
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from api.listen.checking import checked
from api.listen.guide import lead
from api.listen.known import heard
from api.listen.proposals import json_lines
from api.listen.words import heard_words, unplaced_words
from drivers.find.overhear import Patience, overhear
from drivers.find.ports import Plugged
from drivers.find.telling import alike, socket_name, which_moves
from drivers.profile import Profile, load_profile, shipped_profiles

DONE, TROUBLE, UNPLACED = 0, 1, 3
LEAST_TOTAL_S = 3.0  # however long loading took: below that nothing can be heard at all
PERSON_PATIENCE = Patience(silence_s=4.0, most_s=6.0, total_s=60.0)


@dataclass(frozen=True)
class Terminal:
    """The person at the terminal. say, prompt: how to reach them; present: whether they are."""

    say: Callable[[str], None]
    prompt: Callable[[str, str], str]
    present: bool

    def ask(self, question: str, default: str) -> str:
        """An answer, or the default."""
        return self.prompt(question, default)


def at_terminal() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def every_profile() -> list[Profile]:
    """The shipped profiles."""
    return [load_profile(name) for name in shipped_profiles()]


def show_known(port: str, profile: str, seconds: float, echo: Callable[[str], None]) -> int:
    """What comes, and what this profile understands of it. Raises ProfileError."""

    async def show() -> None:
        async for line in heard(port, profile, seconds):
            echo(line)

    asyncio.run(show())
    return DONE


def running_s() -> float:
    """How long this process has been running, as far as the system says: loading counts, too."""
    try:
        behind_name = Path("/proc/self/stat").read_text("ascii", "replace").rpartition(")")[2]
        started_s = int(behind_name.split()[19]) / os.sysconf("SC_CLK_TCK")
        return time.clock_gettime(time.CLOCK_BOOTTIME) - started_s
    except (OSError, AttributeError):
        return 0.0


def propose(
    port: str,
    out: Path | None,
    echo: Callable[[str], None],
    say: Callable[[str], None],
) -> int:
    """Proposals as lines of JSON; everything else goes to `say`."""
    shipped = every_profile()
    usual = Patience()
    left_s = usual.total_s - running_s()
    patience = replace(usual, total_s=max(LEAST_TOTAL_S, left_s))
    overheard = asyncio.run(overhear(port, shipped, time.monotonic, say, patience))
    if overheard.trouble:
        say(overheard.trouble)
        return TROUBLE
    lines = json_lines(port, overheard, out)
    for line in lines:
        echo(line)
    if not lines:
        for line in (*heard_words(overheard), *unplaced_words(overheard)):
            say(line)
    return DONE if lines else UNPLACED


def guide(port: str, person: Terminal, config: Path | None, out: Path | None) -> int:
    """Lead a person to the section of their `bench.toml`."""
    name = port
    if adapters := alike(port):
        told = _told_apart(port, adapters, person)
        if told is None:
            return UNPLACED
        port, name = told.device, socket_name(told)
    overheard = asyncio.run(
        overhear(port, every_profile(), time.monotonic, person.say, PERSON_PATIENCE)
    )
    if overheard.trouble:
        person.say(overheard.trouble)
        return TROUBLE
    placed = lead(port, name, overheard, every_profile(), person, config, out)
    return DONE if placed else UNPLACED


def _told_apart(port: str, adapters: Sequence[Plugged], person: Terminal) -> Plugged | None:
    devices = [adapter.device for adapter in adapters]
    person.say(
        f"{len(devices)} adapters answer to {port} and nothing on them differs: "
        f"{', '.join(devices)}. Move the spindle of one gauge only, to and fro, until told to stop."
    )
    if person.present:
        person.ask("Press Enter to begin", "")
    moves = asyncio.run(which_moves(devices, every_profile(), time.monotonic, person.say))
    if moves is None:
        person.say("Not exactly one of them moved, so nobody can tell which is which.")
        return None
    person.say(f"The gauge that moved is on {moves}.")
    return adapters[devices.index(moves)]


def check(profile: str, sample: Path | None, echo: Callable[[str], None]) -> int:
    """Whether a profile holds, and what it reads. Raises ProfileError, FileError."""
    return DONE if checked(profile, sample, echo) else TROUBLE

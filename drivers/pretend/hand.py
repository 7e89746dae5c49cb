"""How a hand turns a valve: in fits and starts, with re-grips, slips back and hurries.

Speed and wrist movements follow common practice without a printed source: 5 to 30 turns a minute,
two to four wrist movements a turn, pauses and small slips between them.
"""

from collections.abc import Iterator
from enum import StrEnum

import numpy as np

from drivers.pretend.motion import Floats

PATH_HZ = 500  # a hand has no frequencies near this


class HandStyle(StrEnum):
    """Three hands."""

    STEADY = "steady"
    FINGERS = "fingers"
    ERRATIC = "erratic"


class HandPath:
    """The angle of a part turned by hand, in turns, always the same way but for slips back."""

    def __init__(self, style: HandStyle, seconds: float, rng: np.random.Generator) -> None:
        if style is HandStyle.STEADY:
            pieces = _steady(rng, seconds)
        else:
            pieces = _wrist(rng, erratic=style is HandStyle.ERRATIC)
        speeds: list[Floats] = []
        length = 0
        while length < seconds * PATH_HZ:
            piece = next(pieces)
            speeds.append(piece)
            length += len(piece)
        speed = np.concatenate(speeds)
        self._turns = np.concatenate(([0.0], np.cumsum(speed) / PATH_HZ))
        self._t_s = np.arange(len(self._turns)) / PATH_HZ

    def turns_at(self, t_s: Floats) -> Floats:
        """Turns since the beginning; before it 0, after the end the hand rests."""
        return np.interp(t_s, self._t_s, self._turns)


def _steady(rng: np.random.Generator, seconds: float) -> Iterator[Floats]:
    """One long pull whose speed wavers; turns a second, sampled at PATH_HZ."""
    t_s = np.arange(int(seconds * PATH_HZ) + 1) / PATH_HZ
    hz = rng.uniform(0.1, 0.7, 3)
    waver = np.sin(2 * np.pi * np.outer(t_s, hz) + rng.uniform(0, 2 * np.pi, 3)).sum(axis=1)
    speed = rng.uniform(8.0, 20.0) / 60 * (1 + 0.08 * waver)
    while True:
        yield speed * np.minimum(t_s / 0.3, 1.0)


def _wrist(rng: np.random.Generator, *, erratic: bool) -> Iterator[Floats]:
    """Movement, pause, perhaps a slip back, and again."""
    movements_a_turn = rng.integers(2, 5)
    turns_a_second = rng.uniform(7.0, 24.0) / 60
    uneven = (0.4, 1.9) if erratic else (0.75, 1.3)
    pause_s = (0.03, 1.2) if erratic else (0.08, 0.45)
    slip_turns = (0.004, 0.03) if erratic else (0.002, 0.012)
    while True:
        turns = rng.uniform(*uneven) / movements_a_turn
        yield _movement(turns, turns / turns_a_second / rng.uniform(*uneven))
        yield np.zeros(int(rng.uniform(*pause_s) * PATH_HZ))
        if rng.random() < 0.4:
            yield _movement(-rng.uniform(*slip_turns), rng.uniform(0.08, 0.25))
            yield np.zeros(int(rng.uniform(*pause_s) * PATH_HZ / 2))


def _movement(turns: float, seconds: float) -> Floats:
    """Speed of one smooth movement; its integral is `turns`."""
    count = max(int(seconds * PATH_HZ), 10)
    u = (np.arange(count) + 0.5) / count
    bell = u * u * (1 - u) * (1 - u)
    speed: Floats = turns * PATH_HZ * bell / bell.sum()
    return speed

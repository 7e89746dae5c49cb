"""A pretend gauge: one motion after another, sampled, made noisy, rounded and put on the wire."""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from drivers.pretend.motion import Motion
from drivers.pretend.port import PretendPort
from drivers.pretend.voice import Voice

_BLOCK = 64  # readings worked out at once


@dataclass(frozen=True, slots=True)
class Habits:
    """How a gauge behaves. noise_mm: standard deviation of one reading. idle_rate_hz: readings a
    second while nothing is done with it. jitter: standard deviation of the interval, as a share
    of it. free_mm: what it shows before anything is done with it."""

    rate_hz: float
    noise_mm: float
    idle_rate_hz: float = 2.0
    jitter: float = 0.08
    free_mm: float = 0.0


class PretendGauge:
    """Streams all the time: a motion while one is played, then where that one ended.

    next_t_s: when the next reading is due, by the clock handed in.
    """

    def __init__(
        self,
        port: PretendPort,
        voice: Voice,
        habits: Habits,
        rng: np.random.Generator,
        now: Callable[[], float],
    ) -> None:
        self.port = port
        self.voice = voice
        self.habits = habits
        self._rng = rng
        self._now = now
        self._motion: Motion | None = None
        self._began_s = now()
        self._from_mm = habits.free_mm
        self._at_mm = habits.free_mm
        self._due: deque[tuple[float, float, bytes]] = deque()
        self._prepare(now())

    @property
    def next_t_s(self) -> float:
        """When the next reading is due."""
        return self._due[0][0]

    @property
    def playing(self) -> bool:
        """A motion was begun and has not ended."""
        return self._motion is not None

    def play(self, motion: Motion) -> None:
        """Begin a motion now, from where the gauge stands; the one before is broken off."""
        self._motion = motion
        self._began_s = self._now()
        self._from_mm = self._at_mm
        self._due.clear()
        self._prepare(self._began_s)

    def speak(self) -> int:
        """Send the reading that is due; gives how many bytes went to a listener."""
        t_s, self._at_mm, line = self._due.popleft()
        sent = self.port.write(line)
        if self._motion is not None and t_s - self._began_s >= self._motion.duration_s:
            self._motion = None
            self._due.clear()
        if not self._due:
            self._prepare(t_s)
        return sent

    def _prepare(self, after_s: float) -> None:
        habits, motion = self.habits, self._motion
        interval_s = 1 / (habits.rate_hz if motion else habits.idle_rate_hz)
        uneven = np.clip(self._rng.normal(1.0, habits.jitter, _BLOCK), 0.3, 1.7)
        times = after_s + np.cumsum(interval_s * uneven)
        if motion is None:
            positions = np.full(_BLOCK, self._at_mm)
        else:
            since_s = np.minimum(times - self._began_s, motion.duration_s)
            positions = motion.at(since_s, self._from_mm)
        lines = self.voice.lines(positions + self._rng.normal(0.0, habits.noise_mm, _BLOCK))
        self._due.extend(zip(times.tolist(), positions.tolist(), lines, strict=True))

"""A two-point bore gauge rocked by a hand, invented; shares no code with the evaluator.

The gauge's line makes the angle phi with the cross-section; two points on a cylinder of diameter D
then lie D/cos(phi) apart. The hand swings phi from one reversal to the next in minimum-jerk
strokes of uneven length, width and centre, trembles, pauses, sometimes turns back before it went
through the upright position, and loses contact for a few readings.
"""

from dataclasses import dataclass

import numpy as np

from drivers.reading import Reading, Unit


@dataclass(frozen=True)
class Rocking:
    """What the hand does and what the gauge is. Angles in degrees, lengths in mm."""

    diameter_mm: float = 7.0
    rate_hz: float = 25.0
    step_mm: float = 0.001
    noise_mm: float = 0.0004
    swings: int = 3  # there and back
    widest_deg: float = 10.0
    narrowest_deg: float = 3.0
    stroke_s: tuple[float, float] = (0.5, 1.5)
    pauses: float = 0.2  # chance of a rest at a reversal
    turned_back: float = 0.1  # chance of a stroke that stops before upright
    tremor_deg: float = 0.02
    lost: float = 0.3  # chance of one loss of contact per swing
    way_in: bool = True


def rocked(hand: Rocking, seed: int) -> tuple[list[Reading], float]:
    """The readings, and what the gauge would show at the true diameter."""
    chance = np.random.default_rng(seed)
    fine_s = 0.002
    phi = _strokes(hand, chance, fine_s)
    tremble = np.convolve(chance.normal(0, 1, len(phi)), np.ones(40) / 40**0.5, "same")
    phi = np.radians(phi + hand.tremor_deg * tremble)
    zero = hand.diameter_mm - chance.uniform(-0.09, 0.02)  # what the ring was, about
    shown = hand.diameter_mm / np.cos(phi) - zero
    if hand.way_in:
        shown = np.concatenate((_way(chance, shown[0], fine_s), shown))
        shown = np.concatenate((shown, _way(chance, shown[-1], fine_s)[::-1]))
    return _sampled(hand, chance, shown, fine_s), hand.diameter_mm - zero


def _strokes(hand: Rocking, chance: np.random.Generator, fine_s: float) -> np.ndarray:
    at = -chance.uniform(hand.narrowest_deg, hand.widest_deg)
    parts = []
    side, passed = 1.0, 0
    while passed < 2 * hand.swings:
        width = chance.uniform(hand.narrowest_deg, hand.widest_deg)
        back = chance.random() < hand.turned_back
        to = -side * width * 0.3 if back else side * width
        if back and abs(to) >= abs(at):
            to = at * 0.5
        count = int(chance.uniform(*hand.stroke_s) / fine_s)
        x = np.linspace(0, 1, count)
        parts.append(at + (to - at) * (10 * x**3 - 15 * x**4 + 6 * x**5))
        if chance.random() < hand.pauses:
            parts.append(np.full(int(chance.uniform(0.1, 0.6) / fine_s), to))
        at = to
        if back:  # out again to the side it came from
            far = -side * width
            parts.append(at + (far - at) * (10 * x**3 - 15 * x**4 + 6 * x**5))
            at = far
        else:
            passed += 1
            side = -side
    return np.concatenate(parts)


def _way(chance: np.random.Generator, to: float, fine_s: float) -> np.ndarray:
    free = to + chance.uniform(0.3, 0.8)
    x = np.linspace(0, 1, int(chance.uniform(0.3, 0.8) / fine_s))
    return free + (to - free) * x


def _sampled(
    hand: Rocking, chance: np.random.Generator, shown: np.ndarray, fine_s: float
) -> list[Reading]:
    length_s = len(shown) * fine_s
    times = np.arange(0, length_s - 0.02, 1 / hand.rate_hz)
    times = np.sort(np.clip(times + chance.normal(0, 0.1 / hand.rate_hz, len(times)), 0, None))
    values = np.interp(times, np.arange(len(shown)) * fine_s, shown)
    values += chance.normal(0, hand.noise_mm, len(values))
    for _ in range(hand.swings):
        if chance.random() < hand.lost:
            first = int(chance.integers(5, len(values) - 5))
            values[first : first + int(chance.integers(1, 3))] -= chance.uniform(0.03, 0.4)
    counts = np.rint(values / hand.step_mm).astype(int)
    return [
        Reading("bore", "", round(t * 1e4) / 1e4, round(c * hand.step_mm * 1e6) / 1e6, Unit.MM)
        for t, c in zip(times.tolist(), counts.tolist(), strict=True)
    ]

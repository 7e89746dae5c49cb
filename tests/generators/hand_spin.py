"""Invented spins: parts turned by hand under an indicator, with the truth beside each trace.

Written apart from the evaluator and sharing nothing with it. A spin is a profile (harmonics and
perhaps a nick), a path of the angle made of hand movements (each a smooth push with its own
length and time, pauses between), and a gauge (rate with jitter, noise, rounding, drift, lint).
All amounts are guesses about hands and gauges, not measurements of any.
"""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Rng = np.random.Generator

SHAPES = ("good", "bent", "oval", "lobed")
HANDS = ("steady", "fingers", "erratic")
SWAYS = ("rock", "rock-loose", "rock-ratchet")


@dataclass(frozen=True)
class Part:
    """Profile in mm over the angle in turns: amplitude (half of peak to valley), phase, nicks."""

    amplitude_mm: Floats
    phase_rad: Floats
    nicks: tuple[tuple[float, float, float], ...] = ()  # centre and width in turns, depth in mm

    def at(self, angle_turns: Floats) -> Floats:
        height = np.zeros_like(angle_turns)
        for k, (amplitude, phase) in enumerate(
            zip(self.amplitude_mm, self.phase_rad, strict=True), start=1
        ):
            height += amplitude * np.cos(2 * np.pi * k * angle_turns + phase)
        for centre, width, depth in self.nicks:
            away = (angle_turns - centre + 0.5) % 1.0 - 0.5
            height -= depth * np.clip(1.0 - np.abs(away) / (width / 2), 0.0, 1.0) ** 0.5
        return height

    @property
    def runout_mm(self) -> float:
        return float(np.ptp(self.at(np.linspace(0.0, 1.0, 20_001))))


def part(rng: Rng, shape: str) -> Part:
    phase = rng.uniform(0, 2 * np.pi, 7)
    amplitude = np.zeros(7)
    if shape == "good":
        amplitude[0] = rng.uniform(0.0015, 0.006)
        amplitude[1] = amplitude[0] * rng.uniform(0, 0.35)
        amplitude[2:] = rng.uniform(0, 0.0003, 5)
    elif shape == "bent":
        amplitude[0] = np.exp(rng.uniform(np.log(0.006), np.log(0.12)))
        amplitude[1] = amplitude[0] * rng.uniform(0, 0.22)
        amplitude[2] = amplitude[0] * rng.uniform(0, 0.03)
    elif shape == "oval":
        amplitude[1] = np.exp(rng.uniform(np.log(0.004), np.log(0.04)))
        amplitude[0] = amplitude[1] * rng.uniform(0.05, 0.6)
        amplitude[2] = amplitude[1] * rng.uniform(0, 0.04)
    else:
        lobes = int(rng.choice([3, 4, 5, 7]))
        amplitude[lobes - 1] = np.exp(rng.uniform(np.log(0.004), np.log(0.02)))
        amplitude[0] = amplitude[lobes - 1] * rng.uniform(0.2, 1.5)
        amplitude[1] = amplitude[lobes - 1] * rng.uniform(0.0, 0.5)
    return Part(amplitude, phase)


def _ease(share: Floats) -> Floats:
    """From 0 to 1 with soft start and end (minimum jerk)."""
    return share**3 * (10 - 15 * share + 6 * share**2)


@dataclass
class Path:
    """A path of the angle, put together from pushes and pauses, then asked at any time."""

    start: float
    knots: list[tuple[float, float, float, float]] = field(default_factory=list)
    now_s: float = 0.0
    angle: float = 0.0

    def __post_init__(self) -> None:
        self.angle = self.start

    def pause(self, duration_s: float) -> None:
        self.now_s += duration_s

    def push(self, by_turns: float, duration_s: float) -> None:
        self.knots.append((self.now_s, duration_s, self.angle, by_turns))
        self.now_s += duration_s
        self.angle += by_turns

    def at(self, t_s: Floats) -> Floats:
        angle = np.full_like(t_s, self.start)
        for start_s, duration_s, _, by in self.knots:
            angle += by * _ease(np.clip((t_s - start_s) / duration_s, 0.0, 1.0))
        return angle


def _steady(rng: Rng, path: Path, turns: float) -> None:
    path.push(turns, turns / rng.uniform(0.25, 0.9))


def _fingers(rng: Rng, path: Path, turns: float) -> None:
    end = path.angle + turns
    while path.angle < end - 0.01:
        stroke = min(rng.uniform(0.15, 0.5), end - path.angle)
        path.push(stroke, rng.uniform(0.5, 1.8) * max(stroke, 0.08) / 0.35)
        if path.angle >= end - 0.01:
            break
        if rng.random() < 0.4:
            path.push(-rng.uniform(0.005, 0.05), rng.uniform(0.15, 0.4))
        path.pause(rng.uniform(0.05, 1.5))


def _erratic(rng: Rng, path: Path, turns: float) -> None:
    """Pushes that run into each other at changing speed: overlapping soft steps."""
    left = turns
    while left > 1e-6:
        piece = min(float(rng.uniform(0.1, 0.6)), left)
        duration_s = piece / np.exp(rng.uniform(np.log(0.15), np.log(0.9)))
        path.push(piece, 1.6 * duration_s)
        path.now_s -= 0.6 * duration_s
        left -= piece
    path.now_s += 0.5


def _rock(rng: Rng, path: Path, span: float, style: str) -> None:
    """To and fro over `span` of a turn, never more."""
    low, high = path.angle, path.angle + span
    for k in range(int(rng.integers(3, 12))):
        goal = high if k % 2 == 0 else low
        if style == "rock":
            goal += rng.normal(0, 0.01)
        elif style == "rock-loose":
            goal += (-1 if k % 2 == 0 else 1) * rng.uniform(0, 0.5) * span
        else:
            goal = path.angle + (1 if k % 2 == 0 else -1) * rng.uniform(0.2, 0.9) * span
        goal = float(np.clip(goal, low, high))
        path.push(goal - path.angle, rng.uniform(0.4, 2.0) * (0.3 + span))
        if rng.random() < 0.4:
            path.pause(rng.uniform(0.05, 0.8))


@dataclass(frozen=True)
class Spin:
    """One invented trace. turns: for a swaying hand the span of angle seen."""

    t_s: Floats
    value_mm: Floats
    index: npt.NDArray[np.bool_]
    shape: str
    hand: str
    rate_hz: float
    step_mm: float
    turns: float
    runout_mm: float
    lint: int
    nicked: bool


RATES_HZ = (5.0, 10.0, 20.0, 30.0, 60.0, 100.0, 250.0, 1000.0)
STEPS_MM = (0.0001, 0.0002, 0.0005, 0.001, 0.00254, 0.01)


def spin(
    rng: Rng,
    *,
    shape: str,
    hand: str,
    rate_hz: float,
    step_mm: float,
    turns: float,
    lint: bool = True,
    nick: bool = False,
    drift: bool = True,
) -> Spin:
    """One spin. `turns`: how far the part is turned, or for a swaying hand the span."""
    piece = part(rng, shape)
    if nick:
        depth = rng.uniform(0.01, 0.05)
        piece = Part(
            piece.amplitude_mm, piece.phase_rad, ((rng.random(), rng.uniform(0.03, 0.06), depth),)
        )
    path = Path(float(rng.uniform(0, 1)))
    path.pause(rng.uniform(0.2, 2.0))
    _move(rng, path, turns, hand)
    path.pause(rng.uniform(0.2, 2.0))
    return _read(rng, piece, path, shape, hand, rate_hz, step_mm, turns, lint=lint, drift=drift)


def long_spin(
    rng: Rng, *, shape: str, hand: str, rate_hz: float, step_mm: float, length_s: float
) -> Spin:
    """A part turned on and on for so long, or swayed over a third of a turn."""
    piece, path = part(rng, shape), Path(float(rng.uniform(0, 1)))
    turns = 0.35 if hand in SWAYS else 1.0
    while path.now_s < length_s:
        _move(rng, path, turns, hand)
    return _read(
        rng, piece, path, shape, hand, rate_hz, step_mm, path.angle - path.start,
        lint=True, drift=True,
    )  # fmt: skip


def _move(rng: Rng, path: Path, turns: float, hand: str) -> None:
    if hand in SWAYS:
        _rock(rng, path, turns, hand)
    else:
        {"steady": _steady, "fingers": _fingers, "erratic": _erratic}[hand](rng, path, turns)


def _read(
    rng: Rng,
    piece: Part,
    path: Path,
    shape: str,
    hand: str,
    rate_hz: float,
    step_mm: float,
    turns: float,
    *,
    lint: bool,
    drift: bool,
) -> Spin:
    t_s = np.arange(0.0, path.now_s, 1.0 / rate_hz)
    t_s = np.sort(np.clip(t_s + rng.normal(0, 0.12 / rate_hz, len(t_s)), 0.0, None))
    t_s = np.round(np.maximum.accumulate(t_s + np.arange(len(t_s)) * 1e-4), 4)
    angle = path.at(t_s)
    value = piece.at(angle) + rng.uniform(-2, 2)
    value += rng.normal(0, rng.uniform(0.0001, 0.0006), len(t_s))
    if drift:
        total = rng.normal(0, 0.0012)
        tau = rng.uniform(2, 30)
        value += rng.choice(
            [total * t_s / max(t_s[-1], 1.0), total * (1 - np.exp(-t_s / tau))], axis=0
        )
    grains = int(rng.integers(0, 4)) if lint and rng.random() < 0.5 else 0
    for _ in range(grains):
        at, length = int(rng.integers(0, len(t_s))), int(rng.integers(1, 4))
        length = min(length, 1 + int(rate_hz / 15))
        value[at : at + length] += rng.choice([-1, 1]) * rng.uniform(0.03, 0.15)
    value = np.round(np.round(value / step_mm) * step_mm, 6)
    crossed = np.floor(angle)
    index = np.zeros(len(t_s), dtype=bool)
    index[1:] = crossed[1:] != crossed[:-1]
    return Spin(
        t_s, value, index, shape, hand, rate_hz, step_mm, turns, piece.runout_mm, grains,
        bool(piece.nicks),
    )  # fmt: skip


def any_spin(rng: Rng, *, hand: str | None = None, shape: str | None = None) -> Spin:
    """A spin of some kind; shares of shapes, hands, rates and steps as one might meet them."""
    shape = shape or str(rng.choice(SHAPES, p=[0.2, 0.4, 0.2, 0.2]))
    hand = hand or str(rng.choice(HANDS))
    sways = hand in SWAYS
    turns = float(rng.uniform(0.1, 0.9) if sways else rng.uniform(0.3, 4.5))
    rate_hz = float(rng.choice(RATES_HZ, p=[0.05, 0.15, 0.2, 0.2, 0.15, 0.15, 0.05, 0.05]))
    step_mm = float(rng.choice(STEPS_MM, p=[0.2, 0.1, 0.2, 0.3, 0.15, 0.05]))
    nick = bool(not sways and rng.random() < 0.05)
    return spin(
        rng, shape=shape, hand=hand, rate_hz=rate_hz, step_mm=step_mm, turns=turns, nick=nick
    )

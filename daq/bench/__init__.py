"""The bench: what is up, what its gauges say, what comes next. No I/O, no clock, no lock."""

from daq.bench.asked import (
    Answer,
    Change,
    KeyIn,
    OpenJob,
    Order,
    Photograph,
    Press,
    PutUp,
    Rework,
    Sign,
    Skip,
    TakeAgain,
    Temperature,
    Void,
    Zero,
)
from daq.bench.bench import Bench
from daq.bench.shown import BenchProgress, Phase

__all__ = [
    "Answer",
    "Bench",
    "BenchProgress",
    "Change",
    "KeyIn",
    "OpenJob",
    "Order",
    "Phase",
    "Photograph",
    "Press",
    "PutUp",
    "Rework",
    "Sign",
    "Skip",
    "TakeAgain",
    "Temperature",
    "Void",
    "Zero",
]

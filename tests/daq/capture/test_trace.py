"""The stored trace: exact, small, and honest about damage."""

import hashlib
import math
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.capture import columns
from daq.capture.trace import MAGIC, MAX_READINGS, Trace, TraceError
from drivers.reading import Reading, State, Unit
from tests.generators.recordings import made, recorded, truths

reading = st.builds(
    lambda time, value, state, mark, commit: Reading(
        "g",
        "2",
        time / 10_000,
        value / 1_000_000 if state is State.OK else math.nan,
        Unit.MM,
        state,
        mark,
        commit,
    ),
    st.integers(-(2**50), 2**50),
    st.integers(-(2**50), 2**50),
    st.sampled_from(State),
    st.booleans(),
    st.booleans(),
)


def equal(one: list[Reading], other: list[Reading]) -> bool:
    return repr(one) == repr(other)  # NaN is not equal to itself, its text is


@settings(derandomize=True, deadline=None)
@given(st.lists(reading, min_size=1, max_size=40))
def test_every_reading_comes_back(readings):
    packed = Trace.of(readings).pack()
    assert equal(Trace.unpack(packed).readings("g", "2"), readings)
    assert Trace.of(readings).pack() == packed


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("state", State)
def test_every_unit_and_state_comes_back(unit, state):
    value = 1.5 if state is State.OK else math.nan
    readings = [Reading("", "", 0.0, value, unit, state)]
    assert equal(Trace.unpack(Trace.of(readings).pack()).readings(), readings)


def test_the_hash_is_of_the_packed_bytes():
    trace = Trace.of(made([1.0, 1.001, 1.002]))
    assert trace.sha256 == hashlib.sha256(trace.pack()).hexdigest()


@pytest.mark.parametrize(("kind", "most"), [("rock", 1.8), ("decay", 1.2)])
def test_recordings_take_less_than_two_bytes_a_reading(kind, most):
    traces = [recorded(kind, name) for name in truths(kind)]
    size = sum(len(Trace.of(readings).pack()) for readings in traces)
    assert size / sum(map(len, traces)) <= most


def test_a_minute_of_turning_with_uneven_times_takes_less_than_two_bytes_a_reading():
    chance = np.random.default_rng(7)
    angle = np.cumsum(chance.normal(2 * np.pi / 300, 0.01, 6000))
    times = np.sort(np.arange(6000) / 100 + chance.normal(0, 0.002, 6000))
    values = np.rint(50 * np.sin(angle) + chance.normal(0, 0.7, 6000)) / 1000
    readings = [
        Reading("", "", round(t * 1e4) / 1e4, v, Unit.MM)
        for t, v in zip(times.tolist(), values.tolist(), strict=True)
    ]
    assert len(Trace.of(readings).pack()) / 6000 <= 1.4


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ([], "1 to"),
        ([Reading("", "", 0.0, 0.0000001, Unit.MM)], "whole number"),
        ([Reading("", "", 0.00001, 0.0, Unit.MM)], "whole number"),
        ([Reading("", "", 0.0, math.nan, Unit.MM)], "no number"),
        ([Reading("", "", 0.0, math.inf, Unit.MM)], "no number"),
        ([Reading("", "", 1e300, 0.0, Unit.MM)], "whole number"),
        (made([1.0]) + made([1.0], unit=Unit.DEG), "deg"),
    ],
)
def test_what_would_not_come_back_is_refused(readings, said):
    with pytest.raises(TraceError, match=said):
        Trace.of(readings)


PACKED = Trace.of(recorded("rock", "017.csv")).pack()


@pytest.mark.parametrize("place", range(0, len(PACKED), 7))
def test_one_wrong_bit_is_noticed(place):
    broken = bytearray(PACKED)
    broken[place] ^= 0x10
    with pytest.raises(TraceError):
        Trace.unpack(bytes(broken))


@pytest.mark.parametrize("length", [0, 3, 4, 8, 20, len(PACKED) - 1])
def test_a_cut_trace_is_noticed(length):
    with pytest.raises(TraceError):
        Trace.unpack(PACKED[:length])


def unpacked(data: bytes) -> tuple[Trace | None, str]:
    """The trace, or the sentence; any other error goes through and fails the test."""
    try:
        return Trace.unpack(data), ""
    except TraceError as error:
        return None, str(error)


def resealed(body: bytes) -> bytes:
    """`body` with a right checksum, so that what is inside is looked at."""
    return body + zlib.crc32(body).to_bytes(4, "little")


@settings(derandomize=True, deadline=None, max_examples=300)
@given(st.binary(max_size=60))
def test_no_bytes_whatsoever_break_it(noise):
    """Either a trace, or a sentence; never another error, never a flood of memory."""
    trace, said = unpacked(resealed(MAGIC + noise))
    assert said.endswith(".") if trace is None else 1 <= len(trace) <= MAX_READINGS


@settings(derandomize=True, deadline=None, max_examples=300)
@given(st.integers(0, len(PACKED) - 5), st.integers(0, 255))
def test_an_altered_body_with_a_right_checksum_is_a_trace_or_a_sentence(place, byte):
    body = bytearray(PACKED[:-4])
    body[place] = byte
    trace, said = unpacked(resealed(bytes(body)))
    assert said.endswith(".") if trace is None else len(trace) >= 1


def test_a_tiny_file_that_claims_to_be_huge_is_refused_before_it_is_unpacked():
    claim = MAGIC + bytes([1, 0]) + columns.natural_bytes(MAX_READINGS + 1)
    with pytest.raises(TraceError, match="readings"):
        Trace.unpack(resealed(claim))


@pytest.mark.parametrize("number", [0, 1, -1, 127, 128, -(2**52), 2**52])
def test_numbers_of_any_size(number):
    cursor = columns.Cursor(columns.integer_bytes(number))
    assert cursor.integer() == number
    assert cursor.left == 0

"""A pretend port is a real one, and a voice says what the wire of its profile hears."""

import os
import stat

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.pretend.voice import Voice
from drivers.profile import load_profile
from drivers.wires.registry import WIRES


def test_a_plugged_port_is_a_terminal_and_an_unplugged_one_is_not_there(port):
    assert stat.S_ISCHR(port.path.stat().st_mode)
    port.plug()
    port.unplug()
    port.unplug()
    assert not port.path.exists()
    assert port.write(b"x") == 0
    assert port.read() == b""
    port.plug()
    assert port.path.exists()


def test_it_never_blocks_when_the_listener_does_not_read(port):
    listener = os.open(port.path, os.O_RDWR | os.O_NOCTTY)
    try:
        sent = sum(port.write(b"9" * 1000 + b"\n") for _ in range(200))
        assert 0 < sent < 200 * 1001
        assert port.unheard_bytes == 200 * 1001 - sent
    finally:
        os.close(listener)
    assert port.write(b"x") == 0


@pytest.mark.parametrize(
    ("profile", "step", "more", "position", "line"),
    [
        ("plain-line", "0.001", {}, 1.2344, b"+001.234\r\n"),
        ("plain-line", "0.001", {}, -0.0004, b"+000.000\r\n"),
        ("plain-line", "0.0005", {}, -1.23449, b"-001.2345\r\n"),
        ("plain-line", "0.0001", {"unit_word": "in"}, 2.54, b"+000.1000 in\r\n"),
        ("plain-line-inch", "0.0001", {}, 25.4, b"+001.0000\r\n"),
        ("comma-line", "0.01", {"unit_word": "mm", "channel": "B"}, -7.006, b"B-007,01 mm\r\n"),
    ],
)
def test_the_words_of_a_voice(profile, step, more, position, line):
    assert Voice(load_profile(profile), step, **more).lines(np.array([position])) == [line]


@given(
    st.lists(st.floats(-900, 900), min_size=1, max_size=20), st.sampled_from(["0.001", "0.0005"])
)
def test_what_a_voice_says_its_wire_hears_to_half_a_step(positions, step):
    profile = load_profile("comma-line")
    voice = Voice(profile, step, channel="A", unit_word="mm")
    wire = WIRES[profile.wire].described(profile.model_dump())
    runs = wire.feed(b"".join(voice.lines(np.array(positions))))
    heard = [float(number) for run in runs for number in run.numbers]
    assert wire.rejected_messages == 0
    assert heard == pytest.approx(positions, abs=voice.step / 2 + 1e-9)

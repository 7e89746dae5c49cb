"""One contract for every wire: each shipped profile's recording, whole and cut anyhow."""

import pickle
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.profile import Profile, load_profile, shipped_profiles
from drivers.reading import State
from drivers.wires.base import LAST_REJECTED_BYTES, Answer, Heard, Wire
from drivers.wires.registry import WIRES
from tests.drivers.wires.forms import FORMS

FOLDER = Path(__file__).parents[3] / "fixtures" / "drivers" / "recordings"
RECORDINGS = {path.stem: tomllib.loads(path.read_text("utf-8")) for path in FOLDER.glob("*.toml")}


def ends_with_a_line_end(name: str) -> bool:
    profile = load_profile(name)
    own_end = profile.picture is not None and bool(profile.picture.end)
    return profile.wire in ("line", "ask", "picture") and not profile.frame and not own_end


EXAMPLES_EACH = 50  # there are many forms, and the fuzzer in tests/long goes deeper
EVERY = sorted({*RECORDINGS, *FORMS})
LINES = sorted(filter(ends_with_a_line_end, RECORDINGS))


def profile_of(name: str) -> Profile:
    return FORMS[name].profile() if name in FORMS else load_profile(name)


def bytes_of(name: str) -> bytes:
    recording = RECORDINGS[name]
    if "hex" in recording:
        return bytes.fromhex(recording["hex"])
    return recording["bytes"].encode("latin-1")


def pieces_of(name: str) -> list[bytes]:
    if name in FORMS:
        return list(FORMS[name].messages)
    recording = RECORDINGS[name]
    if "hex" in recording:
        return [bytes.fromhex(line) for line in recording["hex"].splitlines() if line]
    return bytes_of(name).splitlines(keepends=True)


def wire_for(name: str, *, torn: bool = False) -> Wire:
    profile = profile_of(name)
    wire = WIRES[profile.wire].described(profile.model_dump())
    wire.restart(torn=torn)
    if profile.asked:
        assert wire.ask()
    return wire


def flat(heard: list[Heard]) -> list[tuple[str, str, str, State, bool]]:
    return [(number, *run[1:]) for run in heard for number in run.numbers]


def counters(wire: Wire) -> tuple[object, ...]:
    return (
        wire.rejected_messages,
        wire.rejected_bytes,
        wire.skipped_bytes,
        wire.last_rejected,
        wire.answer,
    )


def cut(data: bytes, places: list[int]) -> list[bytes]:
    edges = [0, *sorted(place % (len(data) + 1) for place in places), len(data)]
    return [data[a:b] for a, b in pairwise(edges)]


def test_every_shipped_profile_has_a_recording_and_every_wire_a_profile():
    assert sorted(RECORDINGS) == shipped_profiles()
    assert {load_profile(name).wire for name in shipped_profiles()} == set(WIRES)


@pytest.mark.parametrize("name", sorted(RECORDINGS))
def test_the_recording_reads_as_it_says(name):
    recording = RECORDINGS[name]
    assert recording["source"]
    wire = wire_for(recording["profile"], torn=recording["torn"])
    heard = flat(wire.feed(bytes_of(name)))
    expected = [(n, u, c, State(s), bool(key)) for n, u, c, s, *key in recording["readings"]]
    assert heard == expected
    assert wire.rejected_messages == recording["rejected_messages"]
    assert wire.rejected_bytes == recording["rejected_bytes"]
    assert wire.skipped_bytes == recording["skipped_bytes"]


@pytest.mark.parametrize("name", sorted(FORMS))
def test_forms_that_are_not_shipped_are_read_too(name):
    heard = flat(wire_for(name).feed(b"".join(pieces_of(name))))
    assert tuple(number for number, *_ in heard) == FORMS[name].numbers


def spoken(name: str) -> st.SearchStrategy[bytes]:
    """The wire's own messages, whole, cut and changed, mixed with garbage and stray ends."""
    own = st.sampled_from(pieces_of(name))
    cut_off = st.tuples(own, st.integers(0, 20)).map(lambda p: p[0][: p[1]])
    changed = st.tuples(own, st.integers(0, 20), st.integers(0, 255)).map(
        lambda p: p[0][: p[1]] + bytes([p[2]]) + p[0][p[1] + 1 :]
    )
    long_line = st.integers(100, 400).map(lambda n: b"7" * n)
    piece = st.one_of(own, own, cut_off, changed, st.binary(max_size=12), long_line)
    return st.lists(piece, max_size=12).map(b"".join)


@pytest.mark.parametrize("name", EVERY)
@settings(max_examples=EXAMPLES_EACH, deadline=None)
@given(data=st.data(), places=st.lists(st.integers(0, 10_000), max_size=8), torn=st.booleans())
def test_any_cut_same_readings(name, data, places, torn):
    spoke = data.draw(spoken(name))
    whole, pieces, single = (wire_for(name, torn=torn) for _ in range(3))
    expected = flat(whole.feed(spoke))
    assert flat([h for part in cut(spoke, places) for h in pieces.feed(part)]) == expected
    assert flat([h for byte in spoke for h in single.feed(bytes([byte]))]) == expected
    assert counters(pieces) == counters(single) == counters(whole)


@pytest.mark.parametrize("name", EVERY)
@settings(max_examples=EXAMPLES_EACH, deadline=None)
@given(data=st.data())
def test_any_bytes_never_raise_and_give_only_plain_numbers(name, data):
    wire = wire_for(name)
    fed = data.draw(st.one_of(st.binary(max_size=300), spoken(name)))
    for number, _, _, state, _ in flat(wire.feed(fed)):
        if state is State.OK:
            digits = number.lstrip("+-").replace(".", "", 1)
            assert digits.isascii()
            assert digits.isdigit()
            assert len(digits) <= 14
        else:
            assert number == ""
    assert len(wire.last_rejected) <= LAST_REJECTED_BYTES


@pytest.mark.parametrize("name", sorted(RECORDINGS))
def test_a_flood_of_what_is_not_mine_is_counted_and_not_kept(name):
    wire = wire_for(name)
    for _ in range(100):
        assert wire.feed(b"9" * 50_000) == []
    assert len(pickle.dumps(wire)) < 20_000
    assert wire.rejected_messages == 1
    assert 5_000_000 - wire.limit_bytes <= wire.rejected_bytes <= 5_000_000
    # What comes after it is read again.
    assert wire.feed(b"\r\n") == []
    first = RECORDINGS[name]["readings"][0]
    heard = flat(wire.feed(b"".join(pieces_of(name))))
    assert heard[-1][0] == RECORDINGS[name]["readings"][-1][0]
    assert [h[0] for h in heard].count(first[0]) >= 1


@pytest.mark.parametrize("name", LINES)
def test_a_flood_without_an_end_is_one_message(name):
    wire = wire_for(name)
    wire.feed(b"9" * 50_000)
    assert wire.answer is Answer.NEED_MORE
    assert wire.feed(b"\r\n") == []
    assert wire.answer is Answer.NOT_MINE
    assert wire.rejected_bytes == 50_000
    wire.feed(b"".join(pieces_of(name)))
    assert wire.answer is Answer.DONE


@pytest.mark.parametrize("name", LINES)
def test_it_holds_no_more_than_it_says(name):
    wire = wire_for(name)
    wire.feed(b"9" * wire.limit_bytes)
    assert wire.rejected_messages == 0
    wire.feed(b"9")
    assert wire.rejected_bytes == wire.limit_bytes + 1


@pytest.mark.parametrize("name", sorted(RECORDINGS))
def test_a_begun_message_is_forgotten_on_restart(name):
    probe, wire, torn = wire_for(name), wire_for(name), wire_for(name)
    message = next(p for p in pieces_of(name) if wire_for(name).feed(p))
    before = next(i for i in range(len(message)) if probe.feed(message[i : i + 1]))
    begun, last = message[:before], message[before : before + 1]
    assert wire.feed(begun) == []
    assert wire.answer is Answer.NEED_MORE
    wire.restart(torn=False)
    assert wire.skipped_bytes == len(begun)
    assert wire.feed(last) == []
    torn.restart(torn=True)
    assert torn.answer is Answer.NEED_MORE
    assert torn.feed(begun[1:] + last) == []
    assert torn.rejected_messages == 0

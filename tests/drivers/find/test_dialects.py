"""Every invented dialect, from its bytes: placed or rightly left, and never a wrong number."""

from collections import Counter

import pytest

from drivers.find.placing.place import Placed, placed
from drivers.find.placing.split import Sound
from drivers.profile import load_profile, shipped_profiles
from drivers.reading import State, Unit
from tests.generators.binary_dialects import binary_dialect
from tests.generators.dialects import dialect
from tests.generators.playing import Played, dialects, outcome

SERIAL = {"baud": 9600, "bytesize": 8, "parity": "none", "stop_bits": 1}
SHIPPED = [load_profile(name) for name in shipped_profiles()]
PLACED_SHARE_MIN = 0.95


def sound_of(messages: list[bytes], *, bursts: bool = True, asked: bytes = b"") -> Sound:
    starts, at = [], 0
    for message in messages:
        starts.append(at)
        at += len(message)
    return Sound(b"".join(messages), tuple(starts) if bursts else (0,), True, asked)


def numbers(found: Placed) -> list[float]:
    said = [s for proposal in found.proposals for s in proposal.said]
    return [s.value for s in said if s.state is State.OK and s.unit is Unit.MM]


def placing(played: Played, *, bursts: bool = True) -> Placed:
    sound = sound_of([m for m, _ in played.messages], bursts=bursts, asked=played.request)
    return placed(sound, SERIAL, SHIPPED)


@pytest.mark.parametrize("bursts", [True, False])
def test_nearly_all_are_placed_and_no_number_is_wrong(bursts):
    results = {}
    for played in [*dialects("open"), *dialects("held-back")]:
        found = placing(played, bursts=bursts)
        results[played.name] = outcome(played, numbers(found), proposed=bool(found.proposals))
    counts = Counter(results.values())
    assert counts["wrong"] == 0, [n for n, r in results.items() if r == "wrong"]
    meant = counts["placed"] + counts["unplaced"]
    assert counts["placed"] >= PLACED_SHARE_MIN * meant, [
        name for name, result in results.items() if result == "unplaced"
    ]


def test_there_are_enough_of_them_with_something_beside_the_value():
    found = [*dialects("open"), *dialects("held-back")]
    assert len(found) >= 40
    assert sum(played.several for played in found) >= 12


def test_most_readings_of_a_placed_dialect_are_read():
    for played in dialects("open"):
        found = placing(played)
        if found.proposals:
            told = sum(len(values) for _, values in played.messages)
            best = found.proposals[0]
            read = sum(s.state is State.OK for s in best.said)
            assert read >= 0.6 * told, played.name


def test_frames_drawn_at_random_that_say_how_large_they_are():
    told = read = 0
    for seed in range(80):
        drawn = binary_dialect(seed)
        found = placed(sound_of([m for m, _ in drawn.messages]), SERIAL, SHIPPED)
        truth = {round(float(value), 6) for _, value in drawn.messages}
        assert {round(value, 6) for value in numbers(found)} <= truth, drawn.drawn
        told += drawn.told
        read += drawn.told and bool(found.proposals)
    assert read >= 0.75 * told


def test_dialects_drawn_at_random_are_placed_and_no_number_is_wrong():
    unplaced = 0
    for seed in range(60):
        drawn = dialect(seed)
        found = placed(sound_of([m for m, _ in drawn.messages]), SERIAL, SHIPPED)
        truth = {round(float(value), 6) for _, value in drawn.messages}
        assert {round(value, 6) for value in numbers(found)} <= truth, drawn.drawn
        unplaced += not found.proposals
    assert unplaced <= 3

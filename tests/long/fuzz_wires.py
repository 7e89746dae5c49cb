"""Coverage-guided fuzzing of one wire: any bytes, any cut, the same readings and bounded memory.

    python tests/long/fuzz_wires.py WIRE SECONDS

WIRE is a name from the registry. Needs the package atheris; prints how many inputs were executed.
One invariant: whatever the bytes and wherever they are cut, nothing is raised, a number is plain
decimal text, states carry none, the counts agree, and no more than the limit is held back.
"""

import pickle
import sys
import tomllib
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import atheris

# Instrumented, so that the fuzzer sees which branches of the wires and of pymodbus it reached.
with atheris.instrument_imports(include=["drivers.wires", "pymodbus.framer"]):
    import pymodbus.framer  # noqa: F401 - loaded late by the wire, so it is loaded here

    from drivers.wires.registry import WIRES

from drivers.profile import Profile, load_profile, shipped_profiles
from drivers.reading import State
from drivers.wires.base import LAST_REJECTED_BYTES, Wire
from tests.drivers.wires.forms import FORMS

PICKLED_BYTES_MAX = 20_000
INPUT_BYTES_MAX = 400
RECORDINGS = Path(__file__).parents[2] / "fixtures/drivers/recordings"


def profiles_of(wire: str) -> list[tuple[Profile, bytes]]:
    """Every profile of this wire, with what it may be fed at first."""
    found = []
    for name in shipped_profiles():
        recording = tomllib.loads((RECORDINGS / f"{name}.toml").read_text("utf-8"))
        data = bytes.fromhex(recording.get("hex", "")) or recording["bytes"].encode("latin-1")
        found.append((load_profile(name), data))
    found += [(form.profile(), b"".join(form.messages)) for form in FORMS.values()]
    return [(profile, data) for profile, data in found if profile.wire == wire]


class Target:
    """One input: which profile, how it is cut, and then the bytes."""

    def __init__(self, wire: str) -> None:
        self.tables = [profile.model_dump() for profile, _ in profiles_of(wire)]
        self.kind = WIRES[wire]

    def fresh(self, tables, *, torn: bool) -> Wire:
        wire = self.kind.described(tables)
        wire.restart(torn=torn)
        wire.ask()
        return wire

    def __call__(self, data: bytes) -> None:
        if len(data) < 4:
            return
        choice, first, second, body = data[0], data[1], data[2], data[3:]
        tables = self.tables[choice % len(self.tables)]
        torn = choice >= 128
        whole, cut, single = (self.fresh(tables, torn=torn) for _ in range(3))
        said = flat(whole.feed(body))
        edges = sorted({0, len(body), first % (len(body) + 1), second % (len(body) + 1)})
        pieces = [body[a:b] for a, b in pairwise(edges)]
        assert said == [h for piece in pieces for h in flat(cut.feed(piece))]
        assert said == [h for i in range(len(body)) for h in flat(single.feed(body[i : i + 1]))]
        assert counters(whole) == counters(cut) == counters(single)
        for number, state in said:
            check(number, state)
        assert len(whole.last_rejected) <= LAST_REJECTED_BYTES
        assert whole.rejected_bytes + whole.skipped_bytes <= len(body)
        whole.feed(body * 8)
        assert len(pickle.dumps(whole)) < PICKLED_BYTES_MAX


def flat(heard):
    return [(number, run.state) for run in heard for number in run.numbers]


def counters(wire: Wire):
    return (
        wire.rejected_messages,
        wire.rejected_bytes,
        wire.skipped_bytes,
        wire.last_rejected,
        wire.answer,
    )


def check(number: str, state: State) -> None:
    if state is not State.OK:
        assert number == ""
        return
    digits = number.lstrip("+-").replace(".", "", 1)
    assert digits.isascii()
    assert digits.isdigit()
    assert len(digits) <= 14


def main() -> None:
    wire, seconds = sys.argv[1], int(sys.argv[2])
    options = [f"-max_total_time={seconds}", f"-max_len={INPUT_BYTES_MAX}", "-print_final_stats=1"]
    with TemporaryDirectory() as corpus:
        for number, (_, data) in enumerate(profiles_of(wire)):
            (Path(corpus) / str(number)).write_bytes(bytes([number, 7, 19]) + data)
        atheris.Setup([sys.argv[0], *options, corpus], Target(wire))
        atheris.Fuzz()


if __name__ == "__main__":
    main()

"""Play an invented dialect of fixtures/ into a real pseudo serial port, again and again."""

import select
import threading
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from drivers.pretend.port import PretendPort

FOLDER = Path(__file__).parents[2] / "fixtures" / "drivers" / "dialects"
GRID = 6


@dataclass(frozen=True)
class Played:
    """A dialect. messages: the bytes, and the millimetres in them. place: whether it may be."""

    name: str
    place: bool
    several: bool
    request: bytes
    interval_s: float
    messages: list[tuple[bytes, list[float]]]

    @property
    def truth(self) -> set[float]:
        """All numbers that may be read."""
        return {value for _, values in self.messages for value in values}


def dialects(which: str) -> list[Played]:
    """Those of a folder, by name."""
    return [_load(path) for path in sorted((FOLDER / which).glob("*.toml"))]


def _load(path: Path) -> Played:
    told = tomllib.loads(path.read_text("utf-8"))
    assert told["source"] == "invented"
    messages = [
        (
            bytes.fromhex(each["hex"]) if "hex" in each else each["text"].encode("latin-1"),
            [round(float(number), GRID) for number in each["mm"]],
        )
        for each in told["messages"]
    ]
    return Played(
        path.stem,
        told["place"],
        told.get("several_numbers", False),
        told.get("request", "").encode("latin-1"),
        told["interval_s"],
        messages,
    )


@contextmanager
def speaking(port: PretendPort, played: Played, faster: float = 1.0) -> Iterator[None]:
    """In a thread, as a gauge does: by itself, or when it is asked."""
    stop = threading.Event()

    def speak() -> None:
        count, heard = 0, b""
        while not stop.is_set():
            if played.request:
                heard += port.read()
                if played.request not in heard:
                    time.sleep(0.005)
                    continue
                heard = heard.partition(played.request)[2]
            port.write(played.messages[count % len(played.messages)][0])
            count += 1
            if not played.request:
                select.select([], [], [], played.interval_s / faster)

    thread = threading.Thread(target=speak)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join()


def outcome(played: Played, read_mm: list[float], *, proposed: bool) -> str:
    """`placed`, `left` (rightly not placed), `unplaced`, or `wrong`."""
    if any(round(value, GRID) not in played.truth for value in read_mm):
        return "wrong"
    if proposed:
        return "placed"
    return "unplaced" if played.place else "left"

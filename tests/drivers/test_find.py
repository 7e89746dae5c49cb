"""Ports by their USB names, and listening."""

import asyncio
import time

import pytest
from serial.tools import list_ports, list_ports_common

from drivers.find import Adapters, Plugged, listen, plugged, resolve
from drivers.find.adapters import matching
from drivers.profile import load_profile

HERE = [
    Plugged("/dev/ttyUSB0", "usb:1A86:7523:G1", "adapter"),
    Plugged("/dev/ttyUSB1", "usb:1A86:7523:G2", "adapter"),
    Plugged("/dev/ttyUSB2", "usb:0403:6001", "adapter"),
    Plugged("/dev/ttyUSB3", "usb:0403:6015", "adapter"),
    Plugged("/dev/ttyUSB4", "usb:0403:6015", "adapter"),
]


def test_a_usb_name_follows_the_adapter():
    assert resolve("usb:1a86:7523:G2", lambda: HERE) == "/dev/ttyUSB1"
    assert resolve("usb:403:6001", lambda: HERE) == "/dev/ttyUSB2"
    assert resolve("/dev/ttyS0", lambda: HERE) == "/dev/ttyS0"
    assert resolve("socket://host:1", lambda: HERE) == "socket://host:1"


def test_nothing_like_it_and_more_than_one_are_refused():
    with pytest.raises(FileNotFoundError):
        resolve("usb:1A86:7523:G3", lambda: HERE)
    with pytest.raises(OSError, match="2 adapters answer to this name"):
        resolve("usb:1A86:7523", lambda: HERE)
    with pytest.raises(OSError, match="2 adapters"):
        resolve("usb:0403:6015", lambda: HERE)
    for bad in ("usb:", "usb:12", "usb:xyz:1", "usb:12345:1", "usb:1:2_3"):
        with pytest.raises(ValueError, match="not of the form"):
            resolve(bad, lambda: HERE)


def test_what_is_plugged_in_has_names_that_resolve(monkeypatch):
    usb = list_ports_common.ListPortInfo("/dev/ttyUSB7", skip_link_detection=True)
    usb.vid, usb.pid, usb.serial_number, usb.description = 0x1A86, 0x7523, "G9", "USB adapter"
    usb.location = "1-1.4:1.0"
    plain = list_ports_common.ListPortInfo("/dev/ttyS0", skip_link_detection=True)
    monkeypatch.setattr(list_ports, "comports", lambda: [usb, plain])
    assert plugged() == [
        Plugged("/dev/ttyS0", "", ""),
        Plugged("/dev/ttyUSB7", "usb:1A86:7523:G9", "USB adapter", "1-1.4"),
    ]
    assert resolve("usb:1A86:7523:G9") == "/dev/ttyUSB7"


A, B = (
    Plugged(f"/dev/ttyUSB{n}", "usb:0403:6015", "adapter", socket)
    for n, socket in enumerate(("1-1.2", "1-1.3"))
)
MOVED = Plugged("/dev/ttyUSB7", "usb:0403:6015", "adapter", "3-2")


def test_two_that_look_alike_are_refused_by_their_bare_name_even_when_one_has_gone():
    here = [A]
    adapters = Adapters(lambda: here)
    assert adapters.resolve("usb:0403:6015") == A.device
    here[:] = [MOVED]  # the only one of its kind is followed into another socket
    assert adapters.resolve("usb:0403:6015") == MOVED.device
    here[:] = [B, A]
    for _ in range(2):
        with pytest.raises(OSError, match=r"2 adapters that look alike .* moving a spindle"):
            adapters.resolve("usb:0403:6015")
        here[:] = [B]


def test_in_their_sockets_they_are_told_apart_until_both_were_away():
    here = [A, B]
    adapters = Adapters(lambda: here)
    first, second = "usb:0403:6015@1-1.2", "usb:0403:6015@1-1.3"
    assert [adapters.resolve(n) for n in (first, second)] == [A.device, B.device]
    here[:] = [B]
    with pytest.raises(FileNotFoundError):
        adapters.resolve(first)
    here[:] = [B, A]
    assert adapters.resolve(first) == A.device
    here[:] = []
    with pytest.raises(OSError, match="unplugged at the same time"):
        adapters.resolve(second)
    here[:] = [A, B]
    with pytest.raises(OSError, match="may be another one now"):
        adapters.resolve(first)
    adapters.told_apart("usb:0403:6015")
    assert adapters.resolve(first) == A.device


def test_two_with_the_same_serial_number_look_alike_too():
    here = [Plugged(f"/dev/ttyUSB{n}", "usb:0403:6015:0001", "adapter", f"1-1.{n}") for n in (2, 3)]
    adapters = Adapters(lambda: here)
    with pytest.raises(OSError, match=r"look alike .* like usb:0403:6015@1-1\.2"):
        adapters.resolve("usb:0403:6015:0001")
    assert adapters.resolve("usb:0403:6015@1-1.3") == "/dev/ttyUSB3"
    del here[0]
    for name in ("usb:0403:6015:0001", "usb:0403:6015"):
        with pytest.raises(OSError, match="2 adapters that look alike"):
            adapters.resolve(name)
    here.clear()
    with pytest.raises(OSError, match="unplugged at the same time"):
        adapters.resolve("usb:0403:6015@1-1.3")


def test_a_serial_number_is_never_mixed_up_and_matching_names_all():
    both = [HERE[0], HERE[1]]
    adapters = Adapters(lambda: both)
    assert adapters.resolve("usb:1A86:7523:G2") == "/dev/ttyUSB1"
    both[:] = []
    with pytest.raises(FileNotFoundError):
        adapters.resolve("usb:1A86:7523:G2")
    both[:] = [Plugged("/dev/ttyUSB9", "usb:1A86:7523:G2", "adapter", "2-1")]
    assert adapters.resolve("usb:1A86:7523:G2") == "/dev/ttyUSB9"
    assert matching("usb:1A86:7523", lambda: HERE) == ["/dev/ttyUSB0", "/dev/ttyUSB1"]
    assert matching("/dev/ttyS0", lambda: HERE) == ["/dev/ttyS0"]


async def test_listening_gives_bytes_and_readings_and_at_last_the_trouble(port):
    async def speak() -> None:
        while True:
            port.write(b"+2.5\r\n")
            await asyncio.sleep(0.02)

    speaking = asyncio.create_task(speak())
    profile = load_profile("plain-line")
    for seconds in (0.2, 1.0, 5.0, 25.0):  # on a busy computer opening may take the first of them
        said = [s async for s in listen(str(port.path), profile, seconds, time.monotonic)]
        if any(item.readings for item in said):
            break
    speaking.cancel()
    assert all(item.data for item in said[:-1])
    assert {r.value for item in said for r in item.readings} == {2.5}
    assert said[-1] == (b"", [], "")


async def test_listening_to_what_is_not_there_ends_in_time_and_says_why(tmp_path):
    profile = load_profile("plain-line")
    async with asyncio.timeout(20):
        said = [s async for s in listen(str(tmp_path / "none"), profile, 0.1, time.monotonic)]
    assert [(s.data, s.readings) for s in said] == [(b"", [])]
    assert "is not there" in said[0].trouble

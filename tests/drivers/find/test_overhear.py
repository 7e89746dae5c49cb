"""Listening on real pseudo serial ports: by itself, asked, silent, at rest and moving."""

import os
import socket
import termios
import threading
import time
from dataclasses import replace

import pytest

from drivers.find.again import again
from drivers.find.overhear import (
    Overheard,
    Patience,
    has_speeds,
    modbus_profiles,
    overhear,
    requests_of,
)
from drivers.find.placing.registers import request_of
from drivers.find.ports import Plugged
from drivers.find.telling import alike, socket_name, which_moves
from drivers.pretend.port import PretendPort
from drivers.profile import load_profile, shipped_profiles
from tests.generators.playing import Played, dialects, outcome, speaking

SHIPPED = [load_profile(name) for name in shipped_profiles()]
QUICK = Patience(
    silence_s=0.3, least_s=0.5, most_s=1.0, bursts=20, answer_s=0.1, ask_for_s=0.6, total_s=4.0
)
OPEN = {played.name: played for played in dialects("open")}


async def hear(port: PretendPort, patience: Patience = QUICK) -> Overheard:
    return await overhear(str(port.path), SHIPPED, time.monotonic, lambda _: None, patience)


def numbers(heard: Overheard) -> list[float]:
    return [s.value for p in heard.placed.proposals for s in p.said if s.state == "ok"]


@pytest.mark.parametrize(
    "name",
    [
        *("line-padded-crlf", "fixed-eight", "several-stx-bcc", "several-date-time"),
        *("frame-float-little", "ask-question-mark", "ask-enquiry", "ask-query"),
        *("doubt-absolute-relative", "ask-with-echo"),
    ],
)
async def test_what_is_played_is_placed_or_rightly_left(port, name):
    played = OPEN[name]
    with speaking(port, played, faster=2):
        heard = await hear(port)
    proposed = bool(heard.placed.proposals)
    result = outcome(played, numbers(heard), proposed=proposed)
    assert result == ("placed" if played.place else "left"), heard.placed.why
    assert heard.sound.asked == (played.request if played.place else b"")


async def test_one_who_says_nothing_is_only_asked_with_what_reads(port):
    asked = []
    stop = threading.Event()

    def listen() -> None:
        while not stop.wait(0.01):
            asked.append(port.read())

    thread = threading.Thread(target=listen)
    thread.start()
    heard = await hear(port)
    stop.set()
    thread.join()
    assert heard.placed.proposals == ()
    assert heard.sound.data == b""
    sent = b"".join(asked)
    registers = [request_of(p) for p in modbus_profiles(str(port.path), SHIPPED)]
    assert len(registers) == 1
    for request in (*registers, *requests_of(SHIPPED)):
        assert request in sent
        sent = sent.replace(request, b"") if len(request) > 1 else sent
    assert sent.replace(b"\r", b"").replace(b"\x05", b"") == b""


async def test_what_the_data_key_sends_while_it_is_asked_is_no_answer(port):
    """The first key is pressed in the middle of the questions, the second one after them."""
    pressed = [b"3.947 mm\r\n", b"4.001 mm\r\n"]
    stop = threading.Event()

    def press() -> None:
        heard = b""
        while not stop.wait(0.005) and b"MEAS?" not in heard:
            heard += port.read()
        port.write(pressed[0])
        while not stop.wait(0.3) and port.read():
            continue
        port.write(pressed[1])

    thread = threading.Thread(target=press)
    thread.start()
    heard = await hear(port, replace(QUICK, keys_s=1.5))
    stop.set()
    thread.join()
    assert heard.placed.proposals[0].profile.name == "plain-line"
    assert numbers(heard)[:2] == [3.947, 4.001]
    assert heard.sound.asked == b""


async def test_a_port_that_is_not_there_is_a_sentence(tmp_path):
    heard = await overhear(str(tmp_path / "none"), SHIPPED, time.monotonic, print, QUICK)
    assert "is not there" in heard.trouble


async def test_all_of_it_ends_in_time_even_when_nothing_makes_sense(port):
    played = OPEN["doubt-noise"]
    begun_s = time.monotonic()
    with speaking(port, played, faster=4):
        heard = await hear(port)
    assert heard.placed.proposals == ()
    assert heard.sound.data
    assert time.monotonic() - begun_s < QUICK.total_s


def speaks_at(port: PretendPort, baud: int) -> bool:
    """Whether the listener has set the port to that speed."""
    try:
        handle = os.open(port.path, os.O_RDONLY | os.O_NOCTTY | os.O_NONBLOCK)
    except OSError:
        return False
    try:
        return termios.tcgetattr(handle)[4] == baud
    finally:
        os.close(handle)


async def test_what_cannot_be_placed_keeps_the_speed_it_was_heard_at(port, monkeypatch):
    monkeypatch.setattr("drivers.find.overhear.has_speeds", lambda _: True)
    stop = threading.Event()

    def speak() -> None:
        while not stop.wait(0.02):
            if speaks_at(port, termios.B115200):
                port.write(b"ready\r\n")

    thread = threading.Thread(target=speak)
    thread.start()
    heard = await hear(port, replace(QUICK, silence_s=0.1, answer_s=0.02, total_s=2.0))
    stop.set()
    thread.join()
    assert heard.placed.proposals == ()
    assert heard.sound.data
    assert heard.settings["baud"] == 115200


async def test_a_socket_is_listened_to_as_well():
    with socket.create_server(("127.0.0.1", 0)) as server:

        def speak() -> None:
            connection, _ = server.accept()
            with connection:
                for index in range(400):
                    try:
                        connection.sendall(f"+001.{index % 50:03d} mm\r\n".encode())
                    except OSError:
                        return
                    time.sleep(0.01)

        thread = threading.Thread(target=speak)
        thread.start()
        url = f"socket://127.0.0.1:{server.getsockname()[1]}"
        heard = await overhear(url, SHIPPED, time.monotonic, lambda _: None, QUICK)
        thread.join()
    assert heard.placed.proposals[0].profile.name == "plain-line"
    assert not has_speeds(url)


def test_which_ports_have_speeds(port):
    assert not has_speeds(str(port.path))
    assert has_speeds("rfc2217://host:1")
    assert has_speeds("/dev/ttyUSB0")


def still_and_moving() -> tuple[Played, Played]:
    still = [(b"+001.234\r\n", [1.234]), (b"+001.235\r\n", [1.235])]
    moving = [(f"+00{i}.500\r\n".encode(), [i + 0.5]) for i in (1, 2, 4, 7, 5, 3)]
    return (
        Played("still", True, False, b"", 0.02, still),
        Played("moving", True, False, b"", 0.02, moving),
    )


async def test_two_that_look_alike_are_told_apart_by_the_spindle_that_moves(tmp_path):
    first, second = PretendPort(tmp_path / "first"), PretendPort(tmp_path / "second")
    devices = [str(first.path), str(second.path)]
    still, moving = still_and_moving()

    async def told(one: Played, other: Played) -> str | None:
        with speaking(first, one), speaking(second, other):
            return await which_moves(devices, SHIPPED, time.monotonic, lambda _: None, QUICK)

    try:
        assert await told(still, moving) == devices[1]
        assert await told(moving, still) == devices[0]
        assert await told(moving, moving) is None
        assert await told(still, still) is None
    finally:
        first.unplug()
        second.unplug()


def test_only_adapters_without_a_number_need_to_be_told_apart():
    here = [
        Plugged("/dev/ttyUSB0", "usb:1A86:7523", "", "1-1"),
        Plugged("/dev/ttyUSB1", "usb:1A86:7523", "", "1-2"),
        Plugged("/dev/ttyUSB2", "usb:0403:6001:X", "", "1-3"),
    ]
    assert [p.device for p in alike("usb:1a86:7523", lambda: here)] == [
        "/dev/ttyUSB0",
        "/dev/ttyUSB1",
    ]
    assert alike("usb:0403:6001:X", lambda: here) == []
    assert alike("/dev/ttyUSB0", lambda: here) == []
    assert socket_name(here[1]) == "usb:1A86:7523@1-2"
    assert socket_name(Plugged("/dev/ttyS0", "", "")) == "/dev/ttyS0"


async def test_listening_once_more_uses_what_was_found(port):
    played = OPEN["ask-question-mark"]
    with speaking(port, played):
        heard = await hear(port)
        sound = await again(str(port.path), heard, 0.5, time.monotonic)
    assert sound.asked == b"?\r"
    assert sound.data.endswith(b"\r\n")

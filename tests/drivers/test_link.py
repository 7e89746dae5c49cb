"""The link on real pseudo ports, on a socket, on a loop port, and when the port goes away."""

import asyncio
import errno
import os
import threading
import time
from itertools import pairwise

import pytest
import serial
import uvloop
from serial import rfc2217

from drivers.link import Chunk, Link, LinkState, PortSettings, Start
from drivers.link import link as link_module
from drivers.link import pumps as pumps_module
from drivers.link.opening import native_name, open_port, trouble_of

SETTINGS = PortSettings()


def link_to(url, now=time.monotonic, **more) -> Link:
    return Link(str(url), SETTINGS, now, **more)


async def test_bytes_come_with_the_time_they_came(port, listen):
    clock = [5.0]
    link = link_to(port.path, lambda: clock[0])
    got = listen(link.chunks())
    await link.opened()
    clock[0] = 7.5
    port.write(b"abc")
    assert await link.drained(3)
    clock[0] = 9.0
    port.write(b"de")
    assert await link.drained(5)
    assert got == [Chunk(7.5, b"abc", Start.OPENED, 2.5), Chunk(9.0, b"de", Start.GOES_ON)]
    assert (link.bytes_read, link.state, link.trouble) == (5, LinkState.OPEN, "")


async def test_what_was_sent_before_opening_is_not_read(port, listen):
    assert port.write(b"old") == 0
    assert port.unheard_bytes == 3
    link = link_to(port.path)
    got = listen(link.chunks())
    await link.opened()
    port.write(b"new")
    await link.drained(3)
    assert [chunk.data for chunk in got] == [b"new"]


async def test_it_writes(port, listen, until):
    link = link_to(port.path)
    assert not await link.write(b"?")
    listen(link.chunks())
    await link.opened()
    assert await link.write(b"?\r")
    heard = bytearray()

    def heard_all() -> bool:
        heard.extend(port.read())
        return bytes(heard) == b"?\r"

    await until(heard_all)


async def test_unplugged_and_plugged_in_again_on_the_same_name(port, listen, until):
    link = link_to(port.path)
    got = listen(link.chunks())
    for plugged in range(3):
        await link.opened()
        held = link._port
        port.write(b"x%d" % plugged)
        await until(lambda: got[-1:] and got[-1].data.startswith(b"x"))
        port.unplug()
        await until(lambda: got[-1].data == b"")
        assert link.state is LinkState.GONE
        assert "Plug the gauge in" in link.trouble
        port.plug()
        await link.opened()
        assert not held.is_open
    assert link.trouble == ""
    assert link.reconnects == 3
    assert [(c.data, c.start) for c in got] == [
        (b"x0", Start.OPENED),
        (b"", Start.TORN),
        (b"x1", Start.OPENED),
        (b"", Start.TORN),
        (b"x2", Start.OPENED),
        (b"", Start.TORN),
    ]


async def test_a_gone_port_is_taken_off_the_loop_at_once(port, until, monkeypatch):
    reads = []
    read = os.read

    def counted(descriptor: int, size: int) -> bytes:
        reads.append(descriptor)
        return read(descriptor, size)

    monkeypatch.setattr(pumps_module.os, "read", counted)
    link = link_to(port.path)
    chunks = link.chunks()
    first = asyncio.ensure_future(anext(chunks))
    await link.opened()
    port.write(b"abc")
    await first
    # The listener is busy with the first chunk while the port goes away, so nobody but the pump
    # can take it off. Left on the loop it is read hundreds of thousands of times a second.
    port.unplug()
    await until(lambda: link.state is LinkState.GONE)
    await asyncio.sleep(0.05)
    assert len(reads) == 2
    await chunks.aclose()


async def test_a_missing_port_is_tried_with_growing_pauses(listen, until, monkeypatch):
    tries = []

    def missing(url: str, settings: PortSettings) -> None:
        tries.append(time.monotonic())
        raise FileNotFoundError(errno.ENOENT, "no such port")

    monkeypatch.setattr(link_module, "open_port", missing)
    listen(link_to("nowhere").chunks())
    await until(lambda: len(tries) == 4)
    pauses = [b - a for a, b in pairwise(tries)]
    assert all(pause > 0.9 * first for pause, first in zip(pauses, (0.05, 0.1, 0.2), strict=True))


async def test_two_listeners_never_share_a_port(port, listen, until):
    first, second = link_to(port.path), link_to(port.path)
    listen(first.chunks())
    await first.opened()
    got = listen(second.chunks())
    await until(lambda: "in use by another program" in second.trouble)
    assert second.state is LinkState.GONE
    port.write(b"1")
    await first.drained(1)
    assert got == []
    first.stop()
    await second.opened()
    assert second.trouble == ""


async def test_a_port_that_is_not_there_says_so_and_is_opened_when_it_comes(port, listen, until):
    port.unplug()
    link = link_to(port.path)
    listen(link.chunks())
    await until(lambda: "is not there" in link.trouble)
    assert "benchtally gauges" in link.trouble
    port.plug()
    await link.opened()


async def test_a_port_that_is_not_permitted_says_what_to_do(port, listen, until, monkeypatch):
    def refuse(url: str, settings: PortSettings) -> None:
        raise PermissionError(errno.EACCES, "could not open port")

    monkeypatch.setattr(link_module, "open_port", refuse)
    link = link_to(port.path)
    listen(link.chunks())
    await until(lambda: "may not be opened" in link.trouble)
    assert str(port.path) in link.trouble


def test_the_permission_sentence_names_group_and_command(tmp_path):
    missing = tmp_path / "ttyUSB0"
    sentence = trouble_of(str(missing), PermissionError(errno.EACCES, "no"))
    assert "sudo usermod -aG dialout" in sentence
    assert "log out and in again" in sentence


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(errno.EBUSY, "x"), "in use by another program"),
        (OSError(errno.ENOENT, "x"), "is not there"),
        (OSError(errno.ENOSPC, "x"), "No space left"),
        (OSError("several adapters answer"), "several adapters answer"),
        (ValueError("Not a valid baudrate"), "Not a valid baudrate. Correct port or profile"),
    ],
)
def test_every_trouble_is_a_sentence(error, words):
    sentence = trouble_of("some-port", error)
    assert words in sentence
    assert sentence.startswith("some-port ")
    assert sentence.endswith(".")


@pytest.mark.parametrize(
    ("system", "error", "words"),
    [
        # What pyserial says on Windows, where it hands on no number.
        (
            "win32",
            serial.SerialException(
                "could not open port 'COM3': PermissionError(13, 'Access is denied.', None, 5)"
            ),
            "in use by another program",
        ),
        (
            "win32",
            serial.SerialException(
                "could not open port 'COM3': "
                "FileNotFoundError(2, 'The system cannot find the file specified.', None, 2)"
            ),
            "is not there",
        ),
        ("darwin", PermissionError(errno.EACCES, "no"), "privacy"),
        ("darwin", OSError(errno.EBUSY, "Resource busy"), "in use by another program"),
        ("linux", PermissionError(errno.EACCES, "no"), "sudo usermod -aG dialout"),
        ("freebsd", PermissionError(errno.EACCES, "no"), "right to use serial ports"),
    ],
)
def test_each_system_has_its_own_words_for_a_port_that_cannot_be_opened(system, error, words):
    sentence = trouble_of("some-port", error, system)
    assert words in sentence
    assert sentence.endswith(".")


def test_each_system_has_its_own_names():
    assert native_name("com12:", "win32") == "COM12"
    assert native_name("\\\\.\\COM12", "win32") == "\\\\.\\COM12"
    assert native_name("/dev/tty.usbserial-1", "darwin") == "/dev/cu.usbserial-1"
    assert native_name("/dev/cu.usbserial-1", "darwin") == "/dev/cu.usbserial-1"
    for system in ("win32", "darwin", "linux"):
        assert native_name("socket://com1:7", system) == "socket://com1:7"
    assert native_name("/dev/ttyUSB0", "linux") == "/dev/ttyUSB0"


# pyserial names its thread in a way that Python has deprecated.
@pytest.mark.filterwarnings("ignore:set(Daemon|Name)\\(\\) is deprecated:DeprecationWarning")
async def test_a_port_in_the_network_is_served_by_pyserials_own_server(listen, until):
    """rfc2217:// against pyserial's port manager, with a loop port as the serial port there."""
    gauge = serial.serial_for_url("loop://", timeout=0)
    gauge.heard = b""
    served = asyncio.Event()

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        manager = rfc2217.PortManager(gauge, writer)
        while b"bye" not in gauge.heard and (data := await reader.read(1024)):
            gauge.heard += b"".join(manager.filter(data))
            if said := gauge.read(1024):
                writer.write(b"".join(manager.escape(said)))
        server.close()  # first, so that the link is not let in again
        writer.close()
        await writer.wait_closed()
        served.set()

    server = await asyncio.start_server(serve, "127.0.0.1", 0)
    number = server.sockets[0].getsockname()[1]
    link = link_to(f"rfc2217://127.0.0.1:{number}")
    got = listen(link.chunks())
    await asyncio.wait_for(link.opened(), 5)
    assert gauge.baudrate == SETTINGS.baud
    gauge.write(b"+1.5\xff\r\n")
    assert await link.write(b"?\r")
    await until(lambda: b"".join(c.data for c in got).endswith(b"+1.5\xff\r\n"))
    await until(lambda: gauge.heard.endswith(b"?\r"))
    assert await link.write(b"bye")
    await until(lambda: link.reconnects == 1)
    assert got[-1] == Chunk(got[-1].t_s, b"", Start.TORN)
    link.stop()
    await asyncio.wait_for(served.wait(), 5)
    await server.wait_closed()
    gauge.close()


async def test_a_resolver_is_asked_at_every_opening(port, listen, until):
    names = []

    def resolve(name: str) -> str:
        names.append(name)
        return str(port.path)

    link = link_to("usb:1A86:7523", resolve=resolve)
    got = listen(link.chunks())
    await link.opened()
    port.unplug()
    await until(lambda: bool(got))
    port.plug()
    await link.opened()
    assert set(names) == {"usb:1A86:7523"}
    assert len(names) >= 2


async def test_when_nobody_takes_them_the_oldest_chunks_go_and_the_tear_is_told(
    port, monkeypatch, until
):
    monkeypatch.setattr(link_module, "QUEUE_BYTES_MAX", 40)
    link = link_to(port.path)
    chunks = link.chunks()
    first = asyncio.ensure_future(anext(chunks))
    await link.opened()
    port.write(b"0" * 10)
    assert (await first).start is Start.OPENED
    for i in range(1, 8):
        port.write(b"%d" % i * 10)
        await until(lambda i=i: link.bytes_read == 10 * (i + 1))
    assert link.overflows == 3
    kept = [await anext(chunks) for _ in range(4)]
    assert [chunk.data[:1] for chunk in kept] == [b"4", b"5", b"6", b"7"]
    assert [chunk.start for chunk in kept] == [Start.TORN] + [Start.GOES_ON] * 3
    await chunks.aclose()


async def test_drained_means_the_listener_came_back_for_more(port, until):
    link = link_to(port.path)
    gate = asyncio.Event()
    done = []

    async def slow() -> None:
        async for chunk in link.chunks():
            await gate.wait()
            done.append(chunk.data)

    task = asyncio.create_task(slow())
    await link.opened()
    port.write(b"abc")
    waiting = asyncio.ensure_future(link.drained(3))
    await until(lambda: link.bytes_read == 3)
    late = asyncio.ensure_future(link.drained(3))
    for _ in range(5):
        await asyncio.sleep(0)
    assert not waiting.done()
    assert not late.done()
    gate.set()
    assert await waiting
    assert await late
    assert done == [b"abc"]
    lost = asyncio.ensure_future(link.drained(1000))
    await asyncio.sleep(0)
    port.unplug()
    assert not await lost
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)


async def test_stop_closes_the_port_so_that_another_can_have_it(port, listen):
    link = link_to(port.path)
    ended = asyncio.Event()

    async def run() -> None:
        async for _ in link.chunks():
            pass
        ended.set()

    task = asyncio.create_task(run())
    await link.opened()
    link.stop()
    await asyncio.wait_for(ended.wait(), 2)
    await task
    other = link_to(port.path)
    listen(other.chunks())
    await asyncio.wait_for(other.opened(), 2)


async def test_a_port_without_descriptor_is_read_by_a_thread(listen, until):
    link = link_to("loop://")
    got = listen(link.chunks())
    await link.opened()
    assert "benchtally-port" in {thread.name for thread in threading.enumerate()}
    assert await link.write(b"+1.5\r\n")
    await until(lambda: b"".join(c.data for c in got) == b"+1.5\r\n")
    assert got[0].start is Start.OPENED
    link.stop()
    await until(lambda: "benchtally-port" not in {t.name for t in threading.enumerate()})


async def test_what_a_thread_read_before_the_stop_is_not_taken_after_it():
    taken = []
    port = open_port("loop://", SETTINGS)
    pump = pumps_module.ThreadPump(port, time.monotonic, lambda *read: taken.append(read), print)
    port.write(b"abc")
    time.sleep(0.1)  # noqa: ASYNC251 - the loop is kept busy until the thread has read
    pump.stop()
    await asyncio.sleep(0.1)
    assert taken == []
    port.close()


async def test_a_thread_read_port_that_fails_is_opened_again(listen, until):
    link = link_to("loop://")
    got = listen(link.chunks())
    await link.opened()
    link._port.is_open = False  # what a driver does when its device goes away under the thread
    await until(lambda: bool(got))
    assert (got[0].data, got[0].start) == (b"", Start.TORN)
    await link.opened()
    assert link.reconnects == 1


async def test_a_socket_is_read_and_taken_up_again(listen, until):
    speakers = []

    async def speak(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        speakers.append(writer)
        # Opening throws away what came before, so a gauge is heard from its next line on.
        while not writer.is_closing():
            writer.write(b"+1.5\r\n")
            await asyncio.sleep(0.01)

    server = await asyncio.start_server(speak, "127.0.0.1", 0)
    number = server.sockets[0].getsockname()[1]
    link = link_to(f"socket://127.0.0.1:{number}")
    got = listen(link.chunks())
    await until(lambda: bool(got))
    speakers[0].close()
    await until(lambda: got[-1].data == b"")
    lost_at = len(got)
    await until(lambda: len(got) > lost_at)
    assert [c.start for c in got[lost_at - 1 : lost_at + 1]] == [Start.TORN, Start.OPENED]
    assert got[0].data.endswith(b"+1.5\r\n")
    assert len(speakers) == 2
    link.stop()
    speakers[1].close()
    await asyncio.gather(*(writer.wait_closed() for writer in speakers))
    server.close()
    await server.wait_closed()


async def test_nobody_at_the_other_end_of_a_socket_is_a_sentence(listen, until):
    server = await asyncio.start_server(lambda r, w: None, "127.0.0.1", 0)
    number = server.sockets[0].getsockname()[1]
    server.close()
    await server.wait_closed()
    link = link_to(f"socket://127.0.0.1:{number}")
    listen(link.chunks())
    await until(lambda: "cannot be opened" in link.trouble)
    assert "refused" in link.trouble


def test_it_runs_on_the_other_event_loop_too(port):
    async def listen_once() -> list[bytes]:
        link = link_to(port.path)
        chunks = link.chunks()
        first = asyncio.ensure_future(anext(chunks))
        await link.opened()
        port.write(b"abc")
        got = [(await first).data]
        port.unplug()
        got.append((await anext(chunks)).data)
        await chunks.aclose()
        return got

    with asyncio.Runner(loop_factory=uvloop.new_event_loop) as runner:
        assert runner.run(listen_once()) == [b"abc", b""]

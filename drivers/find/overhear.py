"""Listen to a port nobody knows anything about: wait, try speeds, ask politely, place it."""

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from drivers.find.adapters import resolve
from drivers.find.ear import Ear
from drivers.find.placing.parity import without_parity
from drivers.find.placing.place import Placed, placed
from drivers.find.placing.registers import NOT_MODBUS, placed_registers, request_of
from drivers.find.placing.split import Sound
from drivers.find.speeds import SPEEDS_BAUD, speeds_after
from drivers.link import PortSettings
from drivers.profile import Profile

ASKED_TWICE = 2  # the first may be taken for the end of what was sent before
ASKING_SHARE = 0.5  # of the time left may go into finding a request that is answered
SILENCE_SHARE = 0.25  # of all the time into waiting for a first byte
UNANSWERED_MAX = 2  # of a request that is sent again and again; then nobody answers it


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait for what, in seconds.

    silence_s: for a first byte. least_s, most_s: from the first byte on, to hear the spindle move.
    bursts: messages that are enough. glance_s: from the first byte on, to see whether the first
    speed is right. speed_s: at each further speed. answer_s: for the answer to a
    request; ask_every_s, ask_for_s: when one was answered. keys_s: for somebody to press the data
    key. place_s: kept for making out what was heard. total_s: for everything.
    """

    silence_s: float = 1.2
    least_s: float = 3.0
    most_s: float = 6.0
    bursts: int = 30
    glance_s: float = 1.5
    speed_s: float = 0.7
    answer_s: float = 0.3
    ask_every_s: float = 0.1
    ask_for_s: float = 2.0
    keys_s: float = 6.0
    place_s: float = 0.2
    total_s: float = 7.8


@dataclass(frozen=True)
class Overheard:
    """What listening came to.

    settings: of the line, as in a profile's [serial]. trouble: why the port could not be heard.
    """

    settings: dict[str, Any]
    sound: Sound
    placed: Placed
    trouble: str = ""


@dataclass
class _Listener:
    port: str
    shipped: Sequence[Profile]
    now: Callable[[], float]
    tell: Callable[[str], None]
    patience: Patience
    end_s: float
    best: Overheard = field(
        default_factory=lambda: Overheard({}, Sound(b""), Placed((), "nothing was heard"))
    )

    def left_s(self) -> float:
        return self.end_s - self.now()


def has_speeds(port: str) -> bool:
    """Whether line settings mean anything there: not on a socket, not on a pseudo terminal."""
    if "://" in port:
        return port.startswith("rfc2217:")
    try:
        return not os.path.realpath(resolve(port)).startswith("/dev/pts/")
    except OSError:
        return True


def modbus_profiles(port: str, shipped: Sequence[Profile]) -> list[Profile]:
    """Those that can be asked there: TCP frames go over a socket only, RTU over anything."""
    framings = ("tcp", "rtu") if port.startswith("socket:") else ("rtu",)
    found = [p for p in shipped if p.modbus is not None and p.modbus.framing in framings]
    return sorted(found, key=lambda p: framings.index(p.modbus.framing) if p.modbus else 0)


def requests_of(shipped: Sequence[Profile]) -> list[bytes]:
    """What may be sent to a gauge nobody knows: requests that read and change nothing.

    Those that end a line come first: a gauge that collects what it hears up to a line's end has
    then nothing left over that would spoil the next one.
    """
    found = {p.ask.request.encode("ascii") for p in shipped if p.ask and p.ask.request}
    return sorted(found, key=lambda r: (not r.endswith(b"\n"), not r.endswith(b"\r"), -len(r), r))


async def overhear(
    port: str,
    shipped: Sequence[Profile],
    now: Callable[[], float],
    tell: Callable[[str], None],
    patience: Patience | None = None,
) -> Overheard:
    """Listen to `port` and place what it says. now: a steady clock in seconds.

    shipped: the profiles that may be proposed; only requests of theirs are sent. tell: takes a
    sentence on what is being done.
    """
    patience = patience or Patience()
    listener = _Listener(port, shipped, now, tell, patience, now() + patience.total_s)
    speeds: tuple[int, ...] = SPEEDS_BAUD if has_speeds(port) else SPEEDS_BAUD[:1]
    for number in range(len(speeds)):
        if number == 1:
            speeds = speeds_after(listener.best.sound.data)
        baud = speeds[number]
        if number == 1 and not listener.best.sound.data:
            found = await _ask_registers(listener)
            if found is not None:
                return found
        if number and listener.left_s() < patience.speed_s:
            break
        settings = PortSettings(baud=baud)
        async with Ear(port, settings, now) as ear:
            if not await ear.opened(min(2.0, listener.left_s())):
                return Overheard({}, Sound(b""), Placed((), ""), ear.trouble)
            tell(f"Listening at {baud} baud." if len(speeds) > 1 else "Listening.")
            first_s = min(patience.silence_s, SILENCE_SHARE * listener.left_s())
            wait_s = patience.speed_s if number else first_s
            silent = not await _first_byte(listener, ear, wait_s)
            if silent and number == 0:
                found = await _ask(listener, ear, settings)
                if found.sound.data:
                    return found
                if ear.chunks:
                    return await _hear_keys(listener, ear, settings)
            if silent:
                continue
            glance_s = patience.speed_s if number else patience.glance_s
            if len(speeds) > 1 and not await _looks_right(listener, ear, settings, glance_s):
                continue
            await _hear_enough(listener, ear)
            heard = _place(listener, ear.sound(), settings)
            if heard.placed.proposals or len(speeds) == 1:
                return heard
    if len(speeds) == 1:
        return await _last_chance(listener)
    return await _back(listener) if listener.best.sound.data else listener.best


async def _back(listener: _Listener) -> Overheard:
    """What was heard was right at no speed: the usual one once more, for as long as there is."""
    settings = PortSettings(baud=SPEEDS_BAUD[0])
    async with Ear(listener.port, settings, listener.now) as ear:
        await ear.opened(max(0.0, listener.left_s()))
        await _hear_enough(listener, ear)
        _place(listener, ear.sound(), settings)
    return listener.best


async def _first_byte(listener: _Listener, ear: Ear, seconds: float) -> bool:
    return bool(ear.chunks) or await ear.wait_for_more(min(seconds, listener.left_s()))


async def _looks_right(
    listener: _Listener, ear: Ear, settings: PortSettings, seconds: float
) -> bool:
    """Whether it is worth to go on listening at this speed."""
    end_s = listener.now() + min(seconds, listener.left_s())
    while (left_s := end_s - listener.now()) > 0:
        await ear.wait_for_more(left_s)
    return bool(_place(listener, ear.sound(), settings).placed.proposals)


async def _hear_enough(listener: _Listener, ear: Ear) -> None:
    """Until so much was heard that more would hardly change the picture."""
    patience, begun_s = listener.patience, listener.now()
    while True:
        since_s = listener.now() - begun_s
        bursts = len(ear.chunks)
        if since_s >= patience.most_s or listener.left_s() <= 0:
            return
        if bursts >= patience.bursts and since_s >= patience.least_s:
            return
        await ear.wait_for_more(min(0.25, max(0.01, listener.left_s())))


async def _ask(listener: _Listener, ear: Ear, settings: PortSettings) -> Overheard:
    """One request after the other until one is answered with something that can be placed.

    What came, but does not come when the same is asked again, was said by itself: then nothing
    more is asked, and no answer is given.
    """
    patience = listener.patience
    listener.tell("It says nothing by itself. Asking, with requests that only read.")
    requests = requests_of(listener.shipped)
    # Where loading took long, each has to make do with less, so that none goes unasked.
    share_s = ASKING_SHARE * listener.left_s() / (ASKED_TWICE * max(1, len(requests)))
    answer_s = min(patience.answer_s, share_s)
    for request in requests:
        since = len(ear.chunks)
        for _ in range(ASKED_TWICE):
            await ear.send(request)
            await ear.wait_for_more(answer_s)
        if not _answers(ear, since, request):
            continue
        sound = await _asked_on(listener, ear, request)
        if sound is None:
            listener.tell("It said something by itself.")
            break
        listener.tell(f"It answers {request!r}.")
        heard = _place(listener, sound, settings)
        if heard.placed.proposals:
            return heard
    return listener.best


async def _asked_on(listener: _Listener, ear: Ear, request: bytes) -> Sound | None:
    """The answers to a request that is sent again and again; None when it is not answered."""
    patience = listener.patience
    await ear.quiet(patience.answer_s)
    since = len(ear.chunks)
    asked = answered = 0
    end_s = listener.now() + min(patience.ask_for_s, listener.left_s() - patience.place_s)
    while listener.now() < end_s and asked - answered < UNANSWERED_MAX:
        asked += 1
        await ear.send(request)
        answered += await ear.wait_for_more(2 * patience.answer_s)
        while await ear.wait_for_more(patience.ask_every_s / 2):
            continue
    return ear.sound(since, request) if asked - answered < UNANSWERED_MAX else None


async def _last_chance(listener: _Listener) -> Overheard:
    """Where there is but one speed: registers, and then whatever else may come."""
    if (found := await _ask_registers(listener)) is not None:
        return found
    settings = PortSettings(baud=SPEEDS_BAUD[0])
    async with Ear(listener.port, settings, listener.now) as ear:
        await ear.opened(max(0.0, listener.left_s()))
        return await _hear_keys(listener, ear, settings)


async def _hear_keys(listener: _Listener, ear: Ear, settings: PortSettings) -> Overheard:
    """What comes when somebody presses the gauge's data key."""
    patience = listener.patience
    listener.tell("Listening on: if it has a data key, press it.")
    end_s = listener.now() + min(patience.keys_s, listener.left_s() - patience.place_s)
    while (left_s := end_s - listener.now()) > 0:
        await ear.wait_for_more(left_s)
    return _place(listener, ear.sound(), settings) if ear.chunks else listener.best


async def _ask_registers(listener: _Listener) -> Overheard | None:
    """Ask as the Modbus profiles do, with their own line settings; None when nobody answers."""
    patience = listener.patience
    for profile in modbus_profiles(listener.port, listener.shipped):
        settings = PortSettings(**profile.serial.model_dump())
        request = request_of(profile)
        async with Ear(listener.port, settings, listener.now) as ear:
            if not await ear.opened(min(patience.speed_s, listener.left_s())):
                return None
            for _ in range(ASKED_TWICE):
                await ear.send(request)
                if await ear.wait_for_more(patience.answer_s):
                    break
            sound = await _asked_on(listener, ear, request) if ear.chunks else None
        if sound is not None:
            found = placed_registers(sound, _serial(settings), profile)
            if found.why != NOT_MODBUS:
                listener.tell(f"It answers Modbus, asked for the registers of {profile.name}.")
                return Overheard(_serial(settings), sound, found)
    return None


def _answers(ear: Ear, since: int, request: bytes) -> bool:
    """Whether more came back than the request itself."""
    return bool(ear.sound(since, request).data.replace(request, b"").strip(b"\r\n"))


def _place(listener: _Listener, sound: Sound, settings: PortSettings) -> Overheard:
    serial = _serial(settings)
    heard = Overheard(serial, sound, placed(sound, serial, listener.shipped))
    if not heard.placed.proposals and (stripped := without_parity(sound.data)) is not None:
        data, parity = stripped
        serial = {**serial, "bytesize": 7, "parity": parity}
        plain = Sound(data, sound.starts, sound.whole_start, sound.asked)
        heard = Overheard(serial, plain, placed(plain, serial, listener.shipped))
    if heard.placed.proposals or len(sound.data) > len(listener.best.sound.data):
        listener.best = heard
    return heard


def _serial(settings: PortSettings) -> dict[str, Any]:
    kept: Mapping[str, Any] = {
        "baud": settings.baud,
        "bytesize": settings.bytesize,
        "parity": settings.parity,
        "stop_bits": settings.stop_bits,
    }
    return dict(kept)

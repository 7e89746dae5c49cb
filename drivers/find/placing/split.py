"""Where one message ends and the next begins: by an end, by a length, by the pauses between."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

PERIOD_CHARS_MIN, PERIOD_CHARS_MAX = 3, 64
PERIODS_MIN = 4
ANY_PLACES_MAX = 2
LONG_PERIOD_CHARS = 7
PHASE_SHARE = 0.9
BURSTS_MIN = 3
ETX = ("\x03",)
MARK_ENDS = (*ETX, ";", "#", "\x04", "\x00")
PLAIN_SHARE_MIN = 0.85  # less is no text that ends with a mark


@dataclass(frozen=True, slots=True)
class Sound:
    """What was heard on a port: the bytes, and how they came.

    starts: where a new burst begins after a pause, as places in `data`. whole_start: it was quiet
    before the first byte, so no message is cut off there. asked: what was sent to get it.
    """

    data: bytes
    starts: tuple[int, ...] = ()
    whole_start: bool = True
    asked: bytes = b""

    @property
    def text(self) -> str:
        """The bytes as characters, one each."""
        return self.data.decode("latin-1")


@dataclass(frozen=True, slots=True)
class Split:
    """Messages as one way of splitting gives them.

    end: the character each ends with, "" for CR, LF or both. tail: characters behind the end that
    belong to the message. chars: the length of all messages where nothing ends them.
    """

    messages: list[str]
    end: str = ""
    tail: int = 0
    chars: int | None = None


def splits(sound: Sound) -> Iterator[Split]:
    """Every way that the bytes could be split into messages, the likeliest first."""
    text = sound.text
    if any(end in text for end in "\r\n"):
        lines = text.replace("\n", "\r").split("\r")
        yield Split(_whole(lines, sound))
    plain = sum(" " <= char < "\x7f" for char in text) >= PLAIN_SHARE_MIN * len(text)
    for end in MARK_ENDS if plain else ETX:
        count = text.count(end)
        if count and text.count(end + "\r") + text.count(end + "\n") >= count - 1:
            continue  # the line's end behind it says the same
        if count >= 2 or (count == 1 and text.endswith(end)):
            for tail in (0, 1, 2, 4):
                if tail and end == ";":
                    break
                yield Split(_whole(_by_end(text, end, tail), sound), end, tail)
    for chars in _periods(text):
        phase = _phase(sound, chars)
        if phase is not None:
            yield Split(
                [text[at : at + chars] for at in range(phase, len(text) - chars + 1, chars)],
                chars=chars,
            )


def _whole(messages: list[str], sound: Sound) -> list[str]:
    """Without the pieces at both ends that may be torn, and without empty ones."""
    first = 0 if sound.whole_start else 1
    return [message for message in messages[first:-1] if message]


def _by_end(text: str, end: str, tail: int) -> list[str]:
    messages, at = [], 0
    while (found := text.find(end, at)) >= 0 and found + 1 + tail <= len(text):
        messages.append(text[at : found + 1 + tail])
        at = found + 1 + tail
    return [*messages, text[at:]]


def character_class(char: str) -> str:
    """Characters that change places with each other in a number are alike."""
    return "0" if char in "0123456789+- " else char


def _periods(text: str) -> list[int]:
    """The shortest distance at which the text looks like itself, if there is one.

    In a long message two places may hold anything: a checksum, or a flag.
    """
    shape = "".join(map(character_class, text))
    longest = min(PERIOD_CHARS_MAX, len(shape) // PERIODS_MIN)
    changing = {
        period: sum(len(set(shape[place::period])) > 1 for place in range(period))
        for period in range(PERIOD_CHARS_MIN, longest + 1)
    }
    exact = [period for period, count in changing.items() if not count]
    nearly = [
        period
        for period, count in changing.items()
        if period >= LONG_PERIOD_CHARS and count <= ANY_PLACES_MAX
    ]
    return (exact or nearly)[:1]


def _phase(sound: Sound, chars: int) -> int | None:
    """Where messages of this length begin: where the bursts do, when they agree.

    The first burst may begin in the middle of a message unless it was quiet before. Cut at the
    wrong place, a sign would stand beside another number, so without bursts nothing is cut.
    """
    starts = sound.starts if sound.whole_start else sound.starts[1:]
    if not starts and sound.whole_start:
        return 0
    if not starts or (len(starts) < BURSTS_MIN and not sound.whole_start):
        return None
    phases = Counter(start % chars for start in starts)
    phase, count = phases.most_common(1)[0]
    return phase if count >= PHASE_SHARE * len(starts) else None

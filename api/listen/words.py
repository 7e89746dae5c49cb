"""What was heard on a port, in plain words, and what to do where it cannot be placed."""

from collections.abc import Iterator

from drivers.find.overhear import Overheard
from drivers.find.placing.place import Proposal
from drivers.find.placing.skeleton import skeleton
from drivers.reading import State

BYTES_SHOWN_MAX = 96
MESSAGES_SHOWN_MAX = 3
BYTES_A_ROW = 16


def heard_words(heard: Overheard) -> Iterator[str]:
    """How much was heard, how it is cut into messages, and a few of them."""
    if not heard.sound.data:
        yield (
            "Nothing was heard, and no request was answered. Is the gauge switched on, and set to "
            "send? If it sends on its data key only, press it while listening."
        )
        return
    text = heard.placed.text
    size = len(heard.sound.data)
    if text is None:
        yield f"Heard {size} bytes that are no lines of text."
        return
    split = text.split
    end = {"": "a line end", "\x03": "ETX"}.get(split.end, repr(split.end))
    how = f"each of {split.chars} characters" if split.chars else f"each ended by {end}"
    asked = f" after asking {heard.sound.asked!r}" if heard.sound.asked else ""
    yield f"Heard {size} bytes{asked}: {len(split.messages)} messages, {how}, like"
    for message in split.messages[:MESSAGES_SHOWN_MAX]:
        yield f"    {message!r}"
    for verdict in text.verdicts:
        for seen in verdict.seen:
            if seen.other:
                yield f"  {seen.column.texts[0]!r} is taken for {seen.other}."


def proposal_words(proposal: Proposal) -> Iterator[str]:
    """A proposal and the last numbers read with it."""
    made = "a profile made for it" if proposal.toml else "shipped"
    yield f"Profile {proposal.profile.name!r} ({made}), score {proposal.score:.2f}: " + ", ".join(
        f"{s.channel + ': ' if s.channel else ''}{s.value:g} {s.unit}"
        for s in proposal.said[-MESSAGES_SHOWN_MAX:]
        if s.state is State.OK
    )
    for assumed in proposal.assumed:
        yield f"  Assumed: {assumed}."


def unplaced_words(heard: Overheard) -> Iterator[str]:
    """Why nothing is proposed, the bytes, and a profile to fill in."""
    if not heard.sound.data:
        return
    yield f"It cannot be placed: {heard.placed.why}."
    yield "The bytes, and what they are as text:"
    data = heard.sound.data[:BYTES_SHOWN_MAX]
    for at in range(0, len(data), BYTES_A_ROW):
        row = data[at : at + BYTES_A_ROW]
        text = "".join(chr(byte) if 32 <= byte < 127 else "." for byte in row)
        yield f"    {row.hex(' '):<{3 * BYTES_A_ROW}} {text}"
    yield "A profile to fill in, and to check with `benchtally gauges --check FILE`:"
    yield heard.placed.start or skeleton(heard.sound, heard.placed.text, heard.settings)

"""Find the checksum of messages whose making nobody has told."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from drivers.wires.checksum import CHECKSUMS

MESSAGES_MIN = 3
DIFFERENT_MIN = 3  # so many different checksums, or it may be chance
SHARE_MIN = 0.9
FIRST_MAX = 4
BETWEEN_MAX = 2
BEHIND = "\x03", "\x04", " ", ";"


@dataclass(frozen=True, slots=True)
class Check:
    """How a checksum is made: kind, from which character, how many characters before it are left
    out, how many characters stand behind it, whether it is spoken in hexadecimal, and whether its
    lowest byte comes first."""

    kind: str
    first: int
    between: int
    behind: int
    in_hex: bool
    low_first: bool = False

    def size(self) -> int:
        """Its characters."""
        return len(CHECKSUMS[self.kind](b"")) * (2 if self.in_hex else 1)

    def cut(self, message: str) -> tuple[str, str, str]:
        """The message before the checksum, the checksum, and what is behind."""
        end = len(message) - self.behind
        at = end - self.size()
        return message[:at], message[at:end], message[end:]

    def body(self, message: str) -> str:
        """What is summed up."""
        before = self.cut(message)[0]
        return before[self.first : len(before) - self.between]

    def holds(self, message: str) -> bool:
        """Whether it is right in `message`."""
        before, spoken, _ = self.cut(message)
        if len(before) <= self.first + self.between or len(spoken) != self.size():
            return False
        right = CHECKSUMS[self.kind](self.body(message).encode("latin-1"))
        right = right[::-1] if self.low_first else right
        said = spoken.encode("latin-1")
        return said.upper() == right.hex().upper().encode() if self.in_hex else said == right


def check_of(
    messages: Sequence[str], behind: Sequence[str] = BEHIND, *, low_first: bool = False
) -> Check | None:
    """The checksum that is right in all but a few messages, or None.

    behind: what may stand behind it, the same in all messages. low_first: whether the lowest byte
    of a long one may come first, too.
    """
    sample = list(dict.fromkeys(messages))[:40]
    if len(sample) < MESSAGES_MIN:
        return None
    ends = [end for end in behind if all(message.endswith(end) for message in sample)]
    for check in _candidates(sample, [0, *map(len, ends)], (False, True)[: 1 + low_first]):
        right = [message for message in sample if check.holds(message)]
        different = {check.cut(message)[1] for message in right}
        if len(right) >= SHARE_MIN * len(sample) and len(different) >= DIFFERENT_MIN:
            return check
    return None


def _candidates(
    sample: Sequence[str], behinds: Sequence[int], turns: Sequence[bool]
) -> Iterator[Check]:
    """Those that are right in one of the first messages, which is cheap to see."""
    # What leaves out least comes first: with a few characters left out, two kinds may agree.
    ranges = sorted(product(range(FIRST_MAX + 1), range(BETWEEN_MAX + 1)), key=sum)
    for (first, between), behind, in_hex, kind, low_first in product(
        ranges, behinds, (True, False), CHECKSUMS, turns
    ):
        check = Check(kind, first, between, behind, in_hex, low_first)
        if low_first and check.size() == 1:
            continue
        if any(check.holds(message) for message in sample[:3]):
            yield check

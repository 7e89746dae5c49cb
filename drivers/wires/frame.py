"""The `frame` wire: messages of a fixed number of bytes, described field by field.

Every field is a place in half bytes (nibbles): half byte 0 is the first of the frame. How half
bytes lie in the bytes that come is the frame's `packing`; after that the frame is a row of
hexadecimal digits, and a field is a piece of it. A frame is taken only when everything described
holds: start, stop, checksum, decimal digits, and a known meaning for every flag.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Self

from drivers.reading import State
from drivers.wires.base import DECIMALS_MAX, WHOLE_DIGITS_MAX, Heard, together
from drivers.wires.checksum import CHECKSUMS
from drivers.wires.floats import float32_decimal
from drivers.wires.sliding import NEED_MORE, NOT_MINE, Sliding

_HEX = "0123456789abcdef"
_NONE = "x"  # stands where a byte holds no half byte; no field takes it
_SWAPPED = bytes((b & 0x0F) << 4 | b >> 4 for b in range(256))
_LOW_HALVES = bytes(ord(_HEX[b] if b < 16 else _NONE) for b in range(256))
_HEX_DIGITS = bytes(
    ord(chr(b).lower() if chr(b) in _HEX + _HEX.upper() else _NONE) for b in range(256)
)
_BITS_TURNED = str.maketrans(_HEX, "".join(_HEX[int(f"{n:04b}"[::-1], 2)] for n in range(16)))


@dataclass(frozen=True, slots=True)
class Field:
    """A place in the frame. at, digits: in half bytes. order: which comes first (see `read`).

    mask: the bits that count of what was read; None for all.
    """

    at: int
    digits: int = 1
    order: str = "high-first"
    mask: int | None = None

    def text(self, cells: str) -> str:
        """The field's hexadecimal digits, highest first."""
        cut = cells[self.at : self.at + self.digits]
        if self.order == "low-first":
            return cut[::-1]
        if self.order == "low-byte-first":
            return "".join(cut[i : i + 2] for i in range(len(cut) - 2, -1, -2))
        return cut

    def number(self, cells: str) -> int | None:
        """Its value, or None where bytes hold no half byte."""
        text = self.text(cells)
        if _NONE in text:
            return None
        value = int(text, 16)
        return value if self.mask is None else value & self.mask


@dataclass(frozen=True, slots=True)
class Meaning:
    """A field whose values mean words; a value that is not listed makes the frame no frame."""

    field: Field
    words: Mapping[int, Any]

    def of(self, cells: str) -> Any:
        """The word, or None."""
        value = self.field.number(cells)
        return None if value is None else self.words.get(value)


class Frame(Sliding):
    """Keeps the contract of `drivers.wires.base.Wire`. table: the profile's checked `frame`."""

    def __init__(self, table: Mapping[str, Any]) -> None:
        self._start: bytes = table["start"]
        self._stop: bytes = table["stop"]
        self._packing: str = table["packing"]
        self._bits_turned: bool = table["bits_turned"]
        self._checksum: Mapping[str, Any] | None = table["checksum"]
        self._kind: str = table["number"]["kind"]
        self._codes: Mapping[str, State] = table["number"]["codes"]
        self._steps: Mapping[str, Decimal] = table["unit"]["steps"] if table["unit"] else {}
        self._step: Decimal = table["number"]["step"]
        self._number = _field(table["number"])
        self._decimals = _field(table["decimals"]) if table["decimals"] else None
        self._sign = _meaning(table["sign"])
        self._unit = _meaning(table["unit"])
        self._channel = _meaning(table["channel"])
        self._state = _meaning(table["state"])
        self._button = _meaning(table["button"])
        super().__init__(table["bytes"], sure=_is_sure(table))

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build from the profile's table `frame`."""
        return cls(tables["frame"])

    def _next(self, data: bytes, at: int) -> int:
        if not self._start:
            return at
        found = data.find(self._start, at)
        if found >= 0:
            return found
        # The start may be cut: its first bytes may stand at the very end.
        for end in range(max(at, len(data) - len(self._start) + 1), len(data)):
            if self._start.startswith(data[end:]):
                return end
        return len(data)

    def _fit(self, data: bytes, at: int, heard: list[Heard]) -> int:
        frame = data[at : at + self.limit_bytes]
        if not frame.startswith(self._start[: len(frame)]):
            return NOT_MINE
        if len(frame) < self.limit_bytes:
            return NEED_MORE
        if not frame.endswith(self._stop) or not self._checksum_holds(frame):
            return NOT_MINE
        return self.limit_bytes if self._read(self._cells(frame), heard) else NOT_MINE

    def _checksum_holds(self, frame: bytes) -> bool:
        check = self._checksum
        if check is None:
            return True
        right = CHECKSUMS[check["kind"]](frame[check["first"] : check["last"] + 1])
        if check["order"] == "low-first":
            right = right[::-1]
        return frame[check["at"] : check["at"] + len(right)] == right

    def _cells(self, frame: bytes) -> str:
        cells = half_bytes(frame, self._packing)
        return cells.translate(_BITS_TURNED) if self._bits_turned else cells

    def _read(self, cells: str, heard: list[Heard]) -> bool:
        unit = self._unit.of(cells) if self._unit else ""
        channel = self._channel.of(cells) if self._channel else ""
        state = self._state.of(cells) if self._state else State.OK
        commit = self._button.of(cells) if self._button else False
        if None in (unit, channel, state, commit):
            return False
        code = self._codes.get(self._number.text(cells))
        if code is not None and state is State.OK:
            state = code
        number = "" if state is not State.OK else self._text(cells, unit)
        if number is None:
            return False
        together(heard, number, unit, channel, state, commit)
        return True

    def _text(self, cells: str, unit: str) -> str | None:
        """The number as decimal text, None where it is none."""
        count = self._float(cells) if self._kind == "float" else self._count(cells)
        sign = self._sign.of(cells) if self._sign else 1
        if count is None or sign is None:
            return None
        step = self._steps.get(unit, self._step)
        if self._decimals is not None:
            places = self._decimals.number(cells)
            if places is None or places > DECIMALS_MAX:
                return None
            step = Decimal(1).scaleb(-places)
        return decimal_text(Decimal(sign * count) * step)

    def _float(self, cells: str) -> Decimal | None:
        text = self._number.text(cells)
        return None if _NONE in text else float32_decimal(bytes.fromhex(text))

    def _count(self, cells: str) -> int | None:
        text = self._number.text(cells)
        if _NONE in text or (self._kind == "bcd" and not text.isdecimal()):
            return None
        if self._kind == "bcd":
            return int(text)
        value = int(text, 16)
        bits = 4 * len(text)
        if self._number.mask is not None:
            value &= self._number.mask
            bits = self._number.mask.bit_length()
        return value - (1 << bits) if self._kind == "signed" and value >> (bits - 1) else value


def half_bytes(frame: bytes, packing: str) -> str:
    """A frame as hexadecimal digits, one a half byte; x where a byte holds none."""
    if packing == "one-a-byte":
        return frame.translate(_LOW_HALVES).decode("ascii")
    if packing == "hex-text":
        return frame.translate(_HEX_DIGITS).decode("ascii")
    return (frame.translate(_SWAPPED) if packing == "low-first" else frame).hex()


def decimal_text(value: Decimal) -> str | None:
    """`value` as text without an exponent, None where it is too long to be a gauge's."""
    text = f"{value:f}"
    whole, _, decimals = text.lstrip("-").partition(".")
    return text if len(whole) <= WHOLE_DIGITS_MAX and len(decimals) <= DECIMALS_MAX else None


def _field(table: Mapping[str, Any]) -> Field:
    return Field(table["at"], table["digits"], table["order"], table["mask"])


def _meaning(table: Mapping[str, Any] | None) -> Meaning | None:
    return None if table is None else Meaning(_field(table), table["words"])


def _is_sure(table: Mapping[str, Any]) -> bool:
    """Whether nothing inside a frame can look like its beginning or its end."""
    apart = {
        "one-a-byte": range(10, 256),
        "hex-text": set(range(256)) - set(map(ord, "0123456789")),
    }
    outside = apart.get(table["packing"], ())
    marks = table["start"] + table["stop"]
    bcd = table["number"]["kind"] == "bcd"
    return table["checksum"] is not None or (bcd and any(mark in outside for mark in marks))

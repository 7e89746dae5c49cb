"""The tables of a profile for gauges that speak in bytes: `frame` and `modbus`."""

from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from drivers.profile.tables import Asked, Channel, Table
from drivers.profile.units import SourceUnit
from drivers.reading import State

FRAME_BYTES_MAX = 64
FLOAT_DIGITS = 8
CHECKSUM_BYTES = {
    "sum8": 1,
    "sum8-inverted": 1,
    "sum8-negative": 1,
    "xor8": 1,
    "xor8-inverted": 1,
    "crc16-arc": 2,
    "crc16-modbus": 2,
    "crc16-kermit": 2,
    "crc16-x25": 2,
    "crc16-xmodem": 2,
    "crc16-ccitt-false": 2,
}


def _bytes_of(value: Any) -> bytes:
    """Raises ValueError when it is not pairs of hexadecimal digits."""
    try:
        return bytes.fromhex(value)
    except (TypeError, ValueError):
        raise ValueError('has to be bytes in hexadecimal, like "55 AA"') from None


def _whole(value: Any) -> int:
    """A TOML key, or a number. Raises ValueError when it is neither decimal nor hexadecimal."""
    try:
        return value if isinstance(value, int) else int(value, 0)
    except (TypeError, ValueError):
        raise ValueError('has to be a whole number, like "5" or "0x1F"') from None


def _step(value: Any) -> Decimal:
    """Raises ValueError for what is no decimal number above 0 with at most six decimals."""
    try:
        step = Decimal(str(value))
    except InvalidOperation:
        step = Decimal("NaN")
    if not (step.is_finite() and 0 < step <= 10_000 and step == round(step, 6)):
        raise ValueError("has to be above 0, at most 10000, with at most six decimals")
    return step.normalize()


Bytes = Annotated[bytes, BeforeValidator(_bytes_of), Field(max_length=FRAME_BYTES_MAX)]
Whole = Annotated[int, BeforeValidator(_whole), Field(ge=0)]
Step = Annotated[Decimal, BeforeValidator(_step)]
NotOk = Annotated[Literal["over-range", "low-battery", "error"], AfterValidator(State)]


def _hex_key(value: str) -> str:
    """Raises ValueError when it is not hexadecimal digits."""
    text = value.lower().removeprefix("0x")
    if not text or any(c not in "0123456789abcdef" for c in text):
        raise ValueError('has to be hexadecimal digits, like "FFFF"')
    return text


Codes = dict[Annotated[str, AfterValidator(_hex_key)], NotOk]


class FieldTable(Table):
    """A place in a frame, in half bytes from the frame's first."""

    at: Annotated[int, Field(ge=0, lt=2 * FRAME_BYTES_MAX)]
    digits: Annotated[int, Field(ge=1, le=16)] = 1
    order: Literal["high-first", "low-first", "low-byte-first"] = "high-first"
    mask: Whole | None = None

    @model_validator(mode="after")
    def _whole_bytes(self) -> "FieldTable":
        if self.order == "low-byte-first" and self.digits % 2:
            raise ValueError('order "low-byte-first" needs an even number of digits')
        if self.mask == 0:
            raise ValueError("mask 0 leaves no bit")
        return self


class NumberTable(FieldTable):
    """The number itself. step: what one count is worth. codes: digits that are no number.

    kind: "float" is IEEE 754 binary32, eight digits.
    """

    kind: Literal["bcd", "unsigned", "signed", "float"] = "bcd"
    step: Step = Decimal(1)
    codes: Codes = Field(default_factory=dict)

    @model_validator(mode="after")
    def _float_is_whole(self) -> "NumberTable":
        if self.kind == "float" and (self.digits != FLOAT_DIGITS or self.mask is not None):
            raise ValueError(f'kind "float" takes {FLOAT_DIGITS} digits and no mask')
        return self


class SignTable(FieldTable):
    """The sign, where it stands apart from the number."""

    words: dict[Whole, Literal[1, -1]]

    @model_validator(mode="before")
    @classmethod
    def _plus_and_minus(cls, table: Any) -> Any:
        if not isinstance(table, dict) or "words" in table:
            return table
        table = dict(table)
        signs = {"plus": 1, "minus": -1}
        words = {v: sign for key, sign in signs.items() for v in _listed(table.pop(key, []))}
        return {**table, "words": words}


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


class UnitTable(FieldTable):
    """The unit. steps: what one count is worth in a unit, where it differs."""

    words: dict[Whole, SourceUnit]
    steps: dict[SourceUnit, Step] = Field(default_factory=dict)


class StateTable(FieldTable):
    """What the gauge says about its number."""

    words: dict[Whole, State]


class ChannelTable(FieldTable):
    """Which gauge of a box speaks."""

    words: dict[Whole, Channel]


class ButtonTable(FieldTable):
    """Whether the gauge's own data key sent it."""

    words: dict[Whole, bool]


class ChecksumTable(Table):
    """The checksum. at, first, last: bytes of the frame from 0; first to last are summed up."""

    kind: Literal[
        "sum8",
        "sum8-inverted",
        "sum8-negative",
        "xor8",
        "xor8-inverted",
        "crc16-arc",
        "crc16-modbus",
        "crc16-kermit",
        "crc16-x25",
        "crc16-xmodem",
        "crc16-ccitt-false",
    ]
    at: Annotated[int, Field(ge=0)]
    first: Annotated[int, Field(ge=0)] = 0
    last: Annotated[int, Field(ge=0)]
    order: Literal["high-first", "low-first"] = "high-first"

    @property
    def ends_at(self) -> int:
        """The byte behind it."""
        return self.at + CHECKSUM_BYTES[self.kind]


class FrameTable(Table):
    """A frame; see `drivers.wires.frame`."""

    bytes: Annotated[int, Field(ge=2, le=FRAME_BYTES_MAX)]
    start: Bytes = b""
    stop: Bytes = b""
    packing: Literal["high-first", "low-first", "one-a-byte", "hex-text"] = "high-first"
    bits_turned: bool = False
    number: NumberTable
    decimals: FieldTable | None = None
    sign: SignTable | None = None
    unit: UnitTable | None = None
    state: StateTable | None = None
    channel: ChannelTable | None = None
    button: ButtonTable | None = None
    checksum: ChecksumTable | None = None

    @model_validator(mode="after")
    def _holds(self) -> "FrameTable":
        halves = self.bytes * (2 if self.packing in ("high-first", "low-first") else 1)
        fields = ("number", "decimals", "sign", "unit", "state", "channel", "button")
        for name in fields:
            table = getattr(self, name)
            if table is not None and table.at + table.digits > halves:
                raise ValueError(f"[frame.{name}] ends behind the frame, which has {halves} digits")
        check = self.checksum
        if check is not None and max(check.ends_at, check.last + 1) > self.bytes:
            raise ValueError(f"[frame.checksum] ends behind the frame of {self.bytes} bytes")
        if check is not None and check.first < check.ends_at and check.at <= check.last:
            raise ValueError("[frame.checksum] lies inside what it sums up")
        if check is None and not self.start and not self.stop:
            raise ValueError(
                "nothing says where a frame begins: give start, stop or [frame.checksum]"
            )
        if len(self.start) + len(self.stop) > self.bytes:
            raise ValueError("start and stop are longer than the frame")
        return self


class RegisterTable(Table):
    """A register with flags in it."""

    address: Annotated[int, Field(ge=0, le=0xFFFF)]
    mask: Whole = 0xFFFF


class UnitRegister(RegisterTable):
    """The unit."""

    words: dict[Whole, SourceUnit]


class StateRegister(RegisterTable):
    """What the gauge says about its number."""

    words: dict[Whole, State]


class ModbusTable(Asked):
    """Registers that are asked for; addresses as on the wire, from 0."""

    framing: Literal["rtu", "tcp"] = "rtu"
    device: Annotated[int, Field(ge=1, le=247)] = 1
    table: Literal["holding", "input"] = "holding"
    channels: Annotated[
        dict[Annotated[str, Field(max_length=16, pattern=r"^[!-~]*$")], int],
        Field(min_length=1, max_length=62),
    ]
    type: Literal["int16", "uint16", "int32", "uint32", "float32"] = "int16"
    order: Literal["ABCD", "CDAB", "BADC", "DCBA"] = "ABCD"
    scale: Step = Decimal(1)
    codes: Codes = Field(default_factory=dict)
    unit: UnitRegister | None = None
    state: StateRegister | None = None

    @model_validator(mode="before")
    @classmethod
    def _one_address(cls, table: Any) -> Any:
        if not isinstance(table, dict) or "address" not in table:
            return table
        if "channels" in table:
            raise ValueError("give address for one number or channels for several, not both")
        rest = {key: value for key, value in table.items() if key != "address"}
        return {**rest, "channels": {"": table["address"]}}

    @model_validator(mode="after")
    def _one_block(self) -> "ModbusTable":
        registers = list(self.channels.values())
        registers += [t.address for t in (self.unit, self.state) if t]
        size = 1 if self.type.endswith("16") else 2
        if min(registers) < 0 or max(registers) > 0x10000 - size:
            raise ValueError("a register has an address from 0 to 65535")
        if max(registers) + size - min(registers) > 125:
            raise ValueError("the registers lie too far apart: 125 can be read at once")
        wanted = 4 * size
        if wrong := [code for code in self.codes if len(code) != wanted]:
            raise ValueError(f"the code {wrong[0]!r} needs {wanted} hexadecimal digits")
        return self

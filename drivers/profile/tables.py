"""The tables of a profile for gauges that speak in lines, and what all tables share."""

import re
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from drivers.profile.units import SourceUnit
from drivers.reading import State

Word = Annotated[str, Field(min_length=1, max_length=16, pattern=r"^[!-~]([ -~]*[!-~])?$")]
Channel = Annotated[str, Field(min_length=1, max_length=16, pattern=r"^[!-~]+$")]
Seconds = Annotated[float, Field(gt=0, le=60, allow_inf_nan=False)]
Request = Annotated[str, Field(min_length=1, max_length=64, pattern=r"^[\x00-\x7f]+$")]


class Table(BaseModel):
    """A table of a profile: only the keys it knows, never changed."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class SerialTable(Table):
    """Line settings of the port; ignored where the port has none (a socket)."""

    baud: Annotated[int, Field(ge=50, le=4_000_000)] = 9600
    bytesize: Literal[7, 8] = 8
    parity: Literal["none", "even", "odd", "mark", "space"] = "none"
    stop_bits: Literal[1, 2] = 1
    dtr: bool = True
    rts: bool = True


class LineTable(Table):
    """How a line looks; the words of `drivers.wires.line.LineForm`."""

    prefix: Annotated[str, Field(max_length=16, pattern=r"^[ -~]*$")] = ""
    channels: tuple[Word, ...] = ()
    after_channel: Annotated[str, Field(max_length=16, pattern=r"^[ -~]*$")] = ""
    decimal: Literal[".", ","] = "."
    decimals: Annotated[int, Field(ge=0, le=6)] | None = None
    chars: Annotated[int, Field(ge=1, le=100)] | None = None
    unit_words: dict[Word, SourceUnit] = {}
    status_words: dict[Word, State] = {}

    @model_validator(mode="after")
    def _unambiguous(self) -> "LineTable":
        number = re.compile(r"[0-9+\-.,]")
        if not self.after_channel and any(number.match(c[-1]) for c in self.channels):
            raise ValueError(
                "a channel word that ends in a digit, sign or point cannot be told from the "
                "number: give after_channel, the text between the two"
            )
        if self.after_channel and not self.channels:
            raise ValueError("after_channel needs channels; without them use prefix")
        if any(number.match(word) for word in self.unit_words):
            raise ValueError("a unit word must not begin like a number")
        if State.OK in self.status_words.values():
            raise ValueError('a status word stands in place of a number and cannot mean "ok"')
        return self


class Asked(Table):
    """How often a gauge is asked, and how long its answer may take.

    on_demand: only when somebody wants a reading, never by the clock.
    """

    period_s: Seconds = 0.1
    on_demand: bool = False
    timeout_s: Seconds = 0.5


class AskTable(Asked):
    """What is sent to make the gauge speak.

    request, or channels: a request for each channel of a box. answers: readings that one request
    makes; without it as many as there are numbers in a message.
    """

    request: Request | None = None
    channels: dict[Channel, Request] = Field(default_factory=dict, max_length=64)
    answers: Annotated[int, Field(ge=1, le=64)] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "AskTable":
        if (self.request is None) == (not self.channels):
            raise ValueError("give request, or channels with a request each")
        return self


class TypedTable(Table):
    """What a gauge types like a keyboard.

    decimal: "either" takes point and comma for the decimal mark, since the keyboard's language
    decides which one a gauge types. prefix, unit_words, decimals: as in [line].
    """

    prefix: Annotated[str, Field(max_length=16, pattern=r"^[ -~]*$")] = ""
    decimal: Literal[".", ",", "either"] = "either"
    decimals: Annotated[int, Field(ge=0, le=6)] | None = None
    unit_words: dict[Word, SourceUnit] = Field(default_factory=dict)
    status_words: dict[Word, State] = Field(default_factory=dict)

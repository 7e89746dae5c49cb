"""A gauge described: what it speaks, over which line settings, in which unit.

Profiles are TOML; the shipped ones lie in `drivers/profiles/` as package data, a path names any
other. A gauge is never programmed for: it is described here.
"""

import re
import tomllib
from decimal import Decimal
from enum import StrEnum
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from drivers.reading import MM_PER_INCH, State, Unit

PROFILE_SIZE_BYTES_MAX = 64 * 1024


class ProfileError(ValueError):
    """For whoever wrote the profile: which file, where, what is wrong, what is allowed."""


class SourceUnit(StrEnum):
    """Units a gauge may speak; each becomes one canonical unit before a reading exists."""

    MM = "mm"
    UM = "um"
    INCH = "in"
    DEG = "deg"
    MBAR = "mbar"
    KPA = "kPa"
    NEWTON = "N"
    CELSIUS = "Cel"


# Exact factors: 25.4 mm to the inch, 1 mbar = 100 Pa (NIST SP 811 appendix B.8, from memory).
CANONICAL: dict[SourceUnit, tuple[Unit, Decimal]] = {
    SourceUnit.MM: (Unit.MM, Decimal(1)),
    SourceUnit.UM: (Unit.MM, Decimal("0.001")),
    SourceUnit.INCH: (Unit.MM, MM_PER_INCH),
    SourceUnit.DEG: (Unit.DEG, Decimal(1)),
    SourceUnit.MBAR: (Unit.MBAR, Decimal(1)),
    SourceUnit.KPA: (Unit.MBAR, Decimal(10)),
    SourceUnit.NEWTON: (Unit.NEWTON, Decimal(1)),
    SourceUnit.CELSIUS: (Unit.CELSIUS, Decimal(1)),
}

Word = Annotated[str, Field(min_length=1, max_length=16, pattern=r"^[!-~]([ -~]*[!-~])?$")]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class SerialTable(_Table):
    """Line settings of the port; ignored where the port has none (a socket)."""

    baud: Annotated[int, Field(ge=50, le=4_000_000)] = 9600
    bytesize: Literal[7, 8] = 8
    parity: Literal["none", "even", "odd", "mark", "space"] = "none"
    stop_bits: Literal[1, 2] = 1
    dtr: bool = True
    rts: bool = True


class LineTable(_Table):
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


class AskTable(_Table):
    """What is sent to make the gauge speak, and how often."""

    request: Annotated[str, Field(min_length=1, max_length=64, pattern=r"^[\x00-\x7f]+$")]
    period_s: Annotated[float, Field(gt=0, le=60, allow_inf_nan=False)] = 0.1


class Profile(_Table):
    """A gauge described.

    name: the file's name unless it says another. about: one sentence for a person. unit: of the
    number, when the line carries no unit word.
    """

    name: str
    about: str
    wire: Literal["line", "ask"]
    unit: SourceUnit
    serial: SerialTable = SerialTable()
    line: LineTable = LineTable()
    ask: AskTable | None = None

    @model_validator(mode="after")
    def _asks_or_listens(self) -> "Profile":
        if (self.wire == "ask") != (self.ask is not None):
            raise ValueError('the table [ask] belongs to wire = "ask", and only to it')
        return self

    def unit_of(self, word: str) -> SourceUnit:
        """The unit of a number that came with this unit word ("" for none)."""
        return self.line.unit_words[word] if word else self.unit


def shipped_profiles() -> list[str]:
    """Names of the profiles that come with the program, sorted."""
    folder = files("drivers") / "profiles"
    return sorted(
        f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")
    )


def load_profile(name_or_path: str) -> Profile:
    """Read a shipped profile by name, or any other by its path (it holds a / or ends in .toml).

    Raises ProfileError with one sentence.
    """
    if "/" in name_or_path or "\\" in name_or_path or name_or_path.endswith(".toml"):
        return parse_profile(_text_of(Path(name_or_path)), Path(name_or_path).stem, name_or_path)
    if name_or_path not in shipped_profiles():
        raise ProfileError(
            f"profile {name_or_path!r} is not known: shipped are "
            f"{', '.join(shipped_profiles())}; for one of your own give the path of its .toml file."
        )
    text = (files("drivers") / "profiles" / f"{name_or_path}.toml").read_text("utf-8")
    return parse_profile(text, name_or_path, f"{name_or_path}.toml")


def parse_profile(text: str, name: str, file: str) -> Profile:
    """Check the TOML `text` of a profile; `file` is named in the sentence of a ProfileError."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ProfileError(f"{file} is not TOML: {error}.") from None
    try:
        return Profile.model_validate({"name": name, **tables})
    except ValidationError as error:
        raise ProfileError(_sentence(error, text, file)) from None


def _text_of(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(PROFILE_SIZE_BYTES_MAX + 1)
        if len(data) > PROFILE_SIZE_BYTES_MAX:
            raise ProfileError(
                f"{path} is larger than {PROFILE_SIZE_BYTES_MAX} bytes; that is no profile."
            )
        return data.decode("utf-8")
    except OSError as error:
        raise ProfileError(f"profile {path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ProfileError(f"profile {path} is not UTF-8 text; save it as UTF-8.") from None


def _sentence(error: ValidationError, text: str, file: str) -> str:
    first = error.errors(include_url=False)[0]
    keys = [str(key) for key in first["loc"] if key != "[key]"]
    line = line_of_key(text, keys)
    where = f"{file}, line {line}" if line else file
    what = ".".join(keys) or "the profile"
    if first["type"] == "extra_forbidden":
        return f"{where}: {what} is not a key here; allowed are {', '.join(_allowed(keys[:-1]))}."
    if first["type"] == "missing":
        return f"{where}: {what} is missing; it has to be given."
    message = first["msg"].removeprefix("Value error, ")
    got = "" if isinstance(first["input"], dict | BaseModel) else f" is {first['input']!r}"
    return f"{where}: {what}{got}: {message[0].lower()}{message[1:]}."


def _allowed(tables: list[str]) -> list[str]:
    model: Any = Profile
    for table in tables:
        annotation = model.model_fields[table].annotation
        model = next((a for a in get_args(annotation) if a is not type(None)), annotation)
    return sorted(model.model_fields)


def line_of_key(text: str, keys: list[str]) -> int | None:
    """The line (from 1) of a TOML text where the deepest known of `keys` stands, or None."""
    found: int | None = None
    table: list[str] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if header := re.match(r"\s*\[\s*([^\[\]]+?)\s*\]", line):
            table = [part.strip(" \"'") for part in header[1].split(".")]
            if keys[: len(table)] == table:
                found = number
        elif (key := re.match(r"\s*[\"']?([^\"'=\s#]+)[\"']?\s*=", line)) and (
            [*table, key[1]] == keys[: len(table) + 1]
        ):
            found = number
    return found

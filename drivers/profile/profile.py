"""`Profile`, and reading it from TOML.

The shipped profiles lie in `drivers/profiles/` as package data, a path names any other. A gauge is
never programmed for: it is described here.
"""

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Literal

from pydantic import ValidationError, model_validator

from drivers.profile.binary import FrameTable, ModbusTable
from drivers.profile.faults import ProfileError, sentence_of, toml_sentence
from drivers.profile.picture import PictureTable
from drivers.profile.tables import AskTable, LineTable, SerialTable, Table, TypedTable
from drivers.profile.units import SourceUnit

PROFILE_SIZE_BYTES_MAX = 64 * 1024


class Profile(Table):
    """A gauge described.

    name: the file's name unless it says another. about: one sentence for a person. unit: of the
    number, when the message carries none.
    """

    name: str
    about: str
    wire: Literal["line", "ask", "frame", "modbus", "picture", "typed"]
    unit: SourceUnit
    serial: SerialTable = SerialTable()
    line: LineTable = LineTable()
    ask: AskTable | None = None
    picture: PictureTable | None = None
    frame: FrameTable | None = None
    modbus: ModbusTable | None = None
    typed: TypedTable = TypedTable()

    @model_validator(mode="after")
    def _tables_of_its_wire(self) -> "Profile":
        """An answer that is asked for is a line, a picture or a frame."""
        belongs = {
            "ask": ("ask",),
            "picture": ("picture", "ask"),
            "frame": ("frame", "ask"),
            "modbus": ("modbus",),
        }
        for name, wires in belongs.items():
            given = getattr(self, name) is not None
            if given and self.wire not in wires:
                words = " or ".join(f'"{wire}"' for wire in wires)
                raise ValueError(f"the table [{name}] belongs to wire = {words}")
            if self.wire == name and not given:
                raise ValueError(f'wire = "{name}" needs the table [{name}]')
        return self

    @property
    def asked(self) -> AskTable | ModbusTable | None:
        """How the gauge is asked; None for one that speaks by itself."""
        return self.ask or self.modbus

    @property
    def answers(self) -> int:
        """Readings that one request makes."""
        if self.modbus:
            return len(self.modbus.channels)
        if self.ask and self.ask.answers:
            return self.ask.answers
        numbers = (
            [name for name, _ in self.picture.line if name == "number"] if self.picture else []
        )
        return max(len(numbers), 1)

    @property
    def channels(self) -> tuple[str, ...]:
        """The channels of a box that this profile tells apart; none for a gauge on its own port."""
        if self.ask and self.ask.channels:
            return tuple(self.ask.channels)
        if self.modbus:
            return tuple(filter(None, self.modbus.channels))
        if self.frame:
            return tuple(self.frame.channel.words.values()) if self.frame.channel else ()
        if self.picture:
            numbered = (channel for name, channel in self.picture.line if name == "number")
            return self.picture.channels or tuple(filter(None, numbered))
        return self.line.channels

    @property
    def speaks_when_asked(self) -> bool:
        """Whether nothing comes until somebody wants a reading."""
        return self.asked is not None and self.asked.on_demand

    def unit_of(self, word: str) -> SourceUnit:
        """The unit of a number that came with this unit word ("" for none)."""
        if not word:
            return self.unit
        tables = (self.picture, self.typed if self.wire == "typed" else self.line)
        spoken = next((t.unit_words[word] for t in tables if t and word in t.unit_words), None)
        return SourceUnit(word) if spoken is None else spoken


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
        raise ProfileError(toml_sentence(error, file)) from None
    try:
        return Profile.model_validate({"name": name, **tables})
    except ValidationError as error:
        raise ProfileError(sentence_of(error, text, file, Profile)) from None


def _text_of(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(PROFILE_SIZE_BYTES_MAX + 1)
        if len(data) > PROFILE_SIZE_BYTES_MAX:
            raise ProfileError(
                f"{path} is larger than {PROFILE_SIZE_BYTES_MAX} bytes; that is no profile."
            )
        return data.decode("utf-8-sig")  # some editors put a mark before the first character
    except OSError as error:
        raise ProfileError(f"profile {path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ProfileError(f"profile {path} is not UTF-8 text; save it as UTF-8.") from None

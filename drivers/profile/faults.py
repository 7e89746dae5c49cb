"""What is wrong with a profile, as one sentence that names file, line, key and what is allowed."""

import re
import tomllib
from enum import StrEnum
from typing import TYPE_CHECKING, Any, get_args

from pydantic import BaseModel, ValidationError

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails


class ProfileError(ValueError):
    """For whoever wrote the profile: which file, where, what is wrong, what is allowed."""


def sentence_of(error: ValidationError, text: str, file: str, model: type[BaseModel]) -> str:
    """The first fault that pydantic found in the TOML `text` of `file`, and how many more."""
    first, *others = error.errors(include_url=False)
    more = f" Faults after this one: {len(others)}." if others else ""
    return _first_sentence(first, text, file, model) + more


def toml_sentence(error: tomllib.TOMLDecodeError, file: str) -> str:
    """What keeps a file from being TOML, and what TOML wants there."""
    hint = next((hint for begin, hint in _TOML_HINTS.items() if str(error).startswith(begin)), "")
    return f"{file} is not TOML: {error}.{hint}"


_TOML_HINTS = {
    "Illegal character": " A text ends with the quotation mark that it began with, on its line.",
    "Invalid value": " A text stands between quotation marks.",
    "Cannot overwrite": " A key may stand only once.",
    "Cannot declare": " A table may stand only once.",
}


def _first_sentence(first: "ErrorDetails", text: str, file: str, model: type[BaseModel]) -> str:
    keys = [str(key) for key in first["loc"] if key != "[key]"]
    # What belongs to no key is about the way of speaking.
    line = line_of_key(text, keys or ["wire"])
    where = f"{file}, line {line}" if line else file
    what = ".".join(keys) or "the profile"
    if first["type"] == "extra_forbidden":
        allowed = ", ".join(_allowed(model, keys[:-1]))
        return f"{where}: {what} is not a key here; allowed are {allowed}."
    if first["type"] == "missing":
        choices = _choices(model, keys)
        which = f", as one of {', '.join(choices)}" if choices else ""
        return f"{where}: {what} is missing; it has to be given{which}."
    message = first["msg"].removeprefix("Value error, ")
    got = "" if isinstance(first["input"], dict | BaseModel) else f" is {first['input']!r}"
    return f"{where}: {what}{got}: {message[0].lower()}{message[1:]}."


def _allowed(model: Any, tables: list[str]) -> list[str]:
    return sorted(_table(model, tables).model_fields)


def _table(model: Any, tables: list[str]) -> Any:
    for table in tables:
        annotation = model.model_fields[table].annotation
        model = next((a for a in get_args(annotation) if a is not type(None)), annotation)
    return model


def _choices(model: Any, keys: list[str]) -> list[str]:
    """What a key may be, where that is one of a few words."""
    field = _table(model, keys[:-1]).model_fields.get(keys[-1])
    kind = field.annotation if field is not None else None
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return [str(choice) for choice in kind]
    return [choice for choice in get_args(kind) if isinstance(choice, str)]


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

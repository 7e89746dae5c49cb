"""What is wrong with a profile, as one sentence that names file, line, key and what is allowed."""

import re
from typing import Any, get_args

from pydantic import BaseModel, ValidationError


class ProfileError(ValueError):
    """For whoever wrote the profile: which file, where, what is wrong, what is allowed."""


def sentence_of(error: ValidationError, text: str, file: str, model: type[BaseModel]) -> str:
    """The first fault that pydantic found in the TOML `text` of `file`."""
    first = error.errors(include_url=False)[0]
    keys = [str(key) for key in first["loc"] if key != "[key]"]
    line = line_of_key(text, keys)
    where = f"{file}, line {line}" if line else file
    what = ".".join(keys) or "the profile"
    if first["type"] == "extra_forbidden":
        allowed = ", ".join(_allowed(model, keys[:-1]))
        return f"{where}: {what} is not a key here; allowed are {allowed}."
    if first["type"] == "missing":
        return f"{where}: {what} is missing; it has to be given."
    message = first["msg"].removeprefix("Value error, ")
    got = "" if isinstance(first["input"], dict | BaseModel) else f" is {first['input']!r}"
    return f"{where}: {what}{got}: {message[0].lower()}{message[1:]}."


def _allowed(model: Any, tables: list[str]) -> list[str]:
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

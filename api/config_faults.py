"""What pydantic found wrong with a `bench.toml`, as sentences that say what is allowed."""

import difflib
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from daq.head.toml_lines import line_of

VALUE_CHARS_SHOWN = 40

_TYPES = {
    "string_type": "has to be text in quotes",
    "float_type": "has to be a number without quotes, like 0.001",
    "int_type": "has to be a whole number without quotes",
    "bool_type": "has to be true or false, without quotes",
    "list_type": 'has to be a list in brackets, like ["valve.stem_runout"]',
    "date_type": "has to be a date like 2027-03-31",
    "date_parsing": "has to be a date like 2027-03-31",
    "date_from_datetime_parsing": "has to be a date like 2027-03-31",
    "date_from_datetime_inexact": "has to be a date like 2027-03-31",
    "finite_number": "has to be a plain number",
    "string_pattern_mismatch": "may hold no control characters",
    "model_type": "has to be a table",
    "model_attributes_type": "has to be a table",
}


def sentences_of(
    error: ValidationError, text: str, file: Path, model: type[BaseModel]
) -> tuple[str, ...]:
    """One sentence a fault, in the order of the file."""
    said = [_sentence(each, text, file, model) for each in error.errors(include_url=False)]
    return tuple(sentence for _, sentence in sorted(said))


def _sentence(
    fault: ErrorDetails, text: str, file: Path, model: type[BaseModel]
) -> tuple[int, str]:
    clash = fault.get("ctx", {}).get("error")
    loc = getattr(clash, "loc", fault["loc"])
    line = line_of(text, loc)
    what = _predicate(fault, loc, model)
    return line, f"{file}, line {line}: {_named(loc)} {what}."


def _named(loc: tuple[str | int, ...]) -> str:
    """`port in the 2nd [[gauge]]`, `listen in [bench]`, or the table itself."""
    if not loc:
        return "the file"
    keys = [part for part in loc[1:] if isinstance(part, str)]
    counted = [part for part in loc[1:2] if isinstance(part, int)]
    table = f"[[{loc[0]}]] number {counted[0] + 1}" if counted else f"[{loc[0]}]"
    return f"{keys[0]} in {table}" if keys else table


def _predicate(fault: ErrorDetails, loc: tuple[str | int, ...], model: type[BaseModel]) -> str:
    kind, given = fault["type"], fault["input"]
    if kind == "extra_forbidden":
        allowed = _allowed(loc[:-1], model)
        near = difflib.get_close_matches(str(loc[-1]), allowed, n=1)
        meant = f" (did you mean {near[0]}?)" if near else ""
        return f"is not a key that is known here{meant}; allowed are {', '.join(allowed)}"
    if kind == "missing":
        return "is missing and has to be given"
    message = _TYPES.get(kind) or _message(fault)
    if isinstance(given, str | int | float) and kind != "value_error":
        shown = repr(given)
        if len(shown) > VALUE_CHARS_SHOWN:
            shown = shown[:VALUE_CHARS_SHOWN] + "…"
        return f"is {shown} and {message}"
    return message


def _message(fault: ErrorDetails) -> str:
    limits = fault.get("ctx", {})
    match fault["type"]:
        case "value_error":
            return str(limits["error"])
        case "literal_error":
            return f"has to be one of {limits['expected']}"
        case "greater_than":
            return f"has to be greater than {limits['gt']:g}"
        case "greater_than_equal":
            return f"has to be {limits['ge']:g} or more"
        case "less_than_equal":
            return f"has to be {limits['le']:g} at most"
        case "string_too_short":
            return "may not be empty"
        case "string_too_long":
            return f"may have {limits['max_length']} characters at most"
    return fault["msg"][0].lower() + fault["msg"][1:]


def _allowed(tables: tuple[str | int, ...], model: type[BaseModel]) -> list[str]:
    current: Any = model
    for table in tables:
        if isinstance(table, str):
            annotation = current.model_fields[table].annotation
            current = next(
                (each for each in get_args(annotation) if each is not type(None)), annotation
            )
    return sorted(current.model_fields)

"""Write a profile as TOML, in the order a person would."""

import json
from collections.abc import Mapping
from typing import Any

from drivers.find.placing.split import Sound


def tables_of(
    about: str,
    unit: str,
    described: tuple[str, Mapping[str, Any]],
    sound: Sound,
    serial: Mapping[str, Any],
) -> dict[str, Any]:
    """A whole profile; one for a gauge that was asked says with what.

    described: the name of the table that describes a message, and the table.
    """
    wire, table = described
    tables: dict[str, Any] = {
        "about": about,
        "wire": "ask" if sound.asked else wire,
        "unit": unit,
        "serial": dict(serial),
        wire: dict(table),
    }
    if sound.asked:
        tables["ask"] = {"request": sound.asked.decode("ascii"), "period_s": 0.2}
    return tables


def toml_of(tables: Mapping[str, Any], comment: str) -> str:
    """Keys first, then tables one by one; a short mapping stands on one line."""
    lines = [f"# {line}" for line in comment.splitlines()]
    lines += [f"{key} = {_value(value)}" for key, value in tables.items() if not _is_table(value)]
    for name, table in tables.items():
        if _is_table(table):
            lines += _table(name, table)
    return "\n".join(lines) + "\n"


def _is_table(value: Any) -> bool:
    return isinstance(value, Mapping)


def _table(name: str, table: Mapping[str, Any]) -> list[str]:
    lines = ["", f"[{name}]"]
    below: list[str] = []
    for key, value in table.items():
        if _is_table(value) and key in _OWN:
            below += _table(f"{name}.{key}", value)
        else:
            lines.append(f"{_key(key)} = {_value(value)}")
    return lines + below


_OWN = frozenset({"number", "sign", "decimals", "unit", "state", "checksum", "channel"})


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, str):
        return _quoted(value)
    return str(value)


def _key(key: str) -> str:
    plain = key.isascii() and key.replace("-", "").replace("_", "").isalnum()
    return key if plain else _quoted(key)


def _quoted(text: str) -> str:
    """Escapes as JSON and TOML share them; of the characters TOML bars, JSON leaves one alone."""
    return json.dumps(text).replace("\x7f", "\\u007f")

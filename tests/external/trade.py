"""Published limits and examples of the trade, from fixtures/trade."""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[2] / "fixtures/trade"


def table(file: str, name: str) -> list[dict[str, Any]]:
    """The rows of one table; every row's source is described in the file."""
    data = tomllib.loads((FOLDER / file).read_text(), parse_float=Decimal)
    assert {row["source"] for row in data[name]} <= set(data["source"])
    rows: list[dict[str, Any]] = data[name]
    return rows


LIMITS = {row["id"]: row for row in table("limits.toml", "limit")}
WORKED = {row["id"]: row for row in table("worked.toml", "worked")}
CONTRADICTIONS = {row["id"]: row for row in table("contradictions.toml", "contradiction")}

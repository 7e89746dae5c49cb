"""Reads the reference files: every value once, by its id, with what it is to be computed from."""

import csv
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[2] / "fixtures/references"


@dataclass(frozen=True)
class Reference:
    """One published or recomputed value; `source` is where it comes from."""

    id: str
    value: Any
    tolerance: float
    inputs: dict[str, Any]
    source: str

    def check(self, got: float) -> None:
        """Fail unless `got` is the value within the tolerance stated in the file."""
        assert abs(got - self.value) <= self.tolerance, (
            f"{self.id}: {got!r}, {self.source} says {self.value!r} +- {self.tolerance}"
        )


def references(topic: str) -> dict[str, Reference]:
    """All values of fixtures/references/TOPIC.toml by id."""
    data = tomllib.loads((FOLDER / f"{topic}.toml").read_text())
    return {
        row["id"]: Reference(
            row["id"],
            row["value"],
            row["tolerance"],
            row.get("inputs", {}),
            f"{data['source'][row['source']]['title']}, {row['section']}",
        )
        for row in data["value"]
    }


def rows(name: str) -> list[dict[str, str]]:
    """The rows of fixtures/references/NAME."""
    with (FOLDER / name).open(newline="") as file:
        return list(csv.DictReader(file))

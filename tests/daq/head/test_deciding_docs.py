"""The page about deciding says of every work what the code does."""

from pathlib import Path

from daq.head.deciding.outcome import Verdict
from daq.head.rework import WORK

PAGE = Path(__file__).parents[3] / "docs/deciding.md"


def works_table():
    rows = ["| work | not measured any more | limit for new |", "| --- | --- | --- |"]
    for work in WORK.values():
        renews = ", ".join(f"`{name}`" for name in work.renews) or "—"
        voids = ", ".join(f"`{name}`" for name in work.voids)
        rows.append(f"| {work.part} **{work.act}** | {voids} | {renews} |")
    return "\n".join(rows)


def test_the_table_of_works_is_true():
    assert works_table() in PAGE.read_text(), "write works_table() into the page again"


def test_every_decision_is_explained():
    text = PAGE.read_text()
    for verdict in Verdict:
        assert f"{verdict.value}" in text

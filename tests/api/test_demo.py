"""The demonstration as a command: the whole job over pseudo serial ports, and its files."""

import csv
import json
import os
import subprocess
import sys

import pytest

from api.demo.bench import demo_bench
from api.demo.job import open_job
from daq.head.characteristic import CATALOGUE
from drivers.pretend.stage import JumpingClock
from tests.api.export.readers import pdf_pages


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """What `benchtally demo --headless` leaves behind, and how it ended."""
    data = tmp_path_factory.mktemp("demo") / "records"
    command = [sys.executable, "-m", "api.cli", "demo", "--headless", "--data", str(data)]
    wide = {**os.environ, "COLUMNS": "400"}  # so that no sentence is broken into lines
    ended = subprocess.run(
        command, capture_output=True, text=True, check=False, timeout=110, env=wide
    )
    return data, ended


def test_headless_ends_well_and_writes_every_export(played):
    data, ended = played
    assert ended.returncode == 0, ended.stderr
    assert "Traceback" not in ended.stderr
    record = json.loads((data / "DEMO-1.json").read_text())
    assert record["remaining"] == 0
    with (data / "DEMO-1.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    measured = [m["id"] for m in record["measurements"]]
    assert [row["measurement_id"] for row in rows][: len(measured)] == measured
    assert {row["came"] for row in rows[len(measured) :]} == {"derived"}
    assert json.loads((data / "DEMO-1.csv-metadata.json").read_text())["url"] == "DEMO-1.csv"
    # Exactly the five invented faults stand on the list of work, in the order of the trade.
    work = json.loads((data / "DEMO-1-work.json").read_text())
    assert [
        (item["stage"], item["position"], item["part"])
        for item in work["items"]
        if item["kind"] == "do"
    ] == [
        ("guide", "2E", "guide"),
        ("valve", "3E", "valve"),
        ("seat", "4I", "valve"),
        ("spring", "1E", "spring"),
        ("leak test", "2I", "seat"),
    ]
    assert "The list of work" in ended.stdout
    for position in ("1I", "2E", "4E"):
        assert position in ended.stdout
    assert "invented" in ended.stdout.lower()
    # To a person it says names, to software codes.
    printed = "\n".join(pdf_pages((data / "DEMO-1.pdf").read_bytes()))
    assert [name for name in CATALOGUE if name in ended.stdout + printed] == []
    assert "seat leak" in ended.stdout
    assert {reason for item in work["items"] for reason in item["reasons"] if "seat.leak" in reason}


def test_a_demonstration_says_that_it_is_invented(played):
    data, _ = played
    job = json.loads((data / "DEMO-1.json").read_text())["job"]
    assert "invented" in job["customer"]
    assert "invented" in job["complaint"]
    assert "Invented" in job["plan_title"]


def test_the_records_of_a_demonstration_are_whole(played):
    data, _ = played
    verify = subprocess.run(
        [sys.executable, "-m", "api.cli", "verify", str(data)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert verify.returncode == 0, verify.stdout
    assert "job DEMO-1" in verify.stdout


async def test_a_job_takes_the_place_of_one_that_was_broken_off(tmp_path):
    for seed in (1, 1):
        async with demo_bench(tmp_path, JumpingClock(), seed) as bench:
            job = await open_job(bench, seed)
            seen = bench.run.progress()
            assert seen.job == job
            assert seen.target == bench.plan.targets[0]
    assert seen.number == "DEMO-1-2"

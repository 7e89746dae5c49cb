"""The bundle says everything once more, names the hash of every file, and comes out the same."""

import hashlib
import json

import pytest

from api.export import ALONE, WRITERS, ExportError, Given
from daq.capture.trace import Trace
from drivers.reading import Reading, Unit
from tests.api.export.readers import members, parquet_rows
from tests.generators.a_made_record import made_record

READINGS = [
    Reading("g", "", t / 100, v / 1000, Unit.MM, mark=t == 2) for t, v in enumerate([1, 5, 3, 2])
]
TRACE = Trace.of(READINGS)


@pytest.fixture
def view():
    made = made_record()
    first = made.measurements[0].model_copy(update={"trace_sha256": TRACE.sha256})
    return made.model_copy(update={"measurements": (first, *made.measurements[1:])})


@pytest.fixture
def inside(view):
    given = Given(trace={TRACE.sha256: TRACE.pack()}.get)
    return members(b"".join(WRITERS["bundle"].write(view, given)))


def test_every_file_has_the_hash_that_is_said(inside):
    sums = dict(
        reversed(line.split("  ")) for line in inside.pop("SHA256SUMS").decode().splitlines()
    )
    assert sums == {name: hashlib.sha256(data).hexdigest() for name, data in inside.items()}


def test_the_traces_go_along(inside, view):
    assert inside[f"traces/{TRACE.sha256}.trace"] == TRACE.pack()
    row = parquet_rows(inside["record.parquet"])[0]
    assert row["trace_value"] == [r.value for r in READINGS]
    assert row["trace_t_s"] == [r.t_s for r in READINGS]
    assert row["trace_mark"] == [False, False, True, False]


def test_the_readme_and_the_seal_name_the_end_of_the_chain(inside, view):
    assert view.head.hash in inside["README.txt"].decode()
    seal = json.loads(inside["seal.json"])
    assert (seal["hash"], seal["entries"], seal["job"]) == (
        view.head.hash, view.head.entries, view.job.id,
    )  # fmt: skip


def test_without_pyarrow_parquet_says_what_to_install(view, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    with pytest.raises(ExportError, match="install benchtally"):
        b"".join(WRITERS["parquet"].write(view, ALONE))


def test_a_trace_that_was_cut_short_is_not_passed_over(view):
    given = Given(trace={TRACE.sha256: TRACE.pack()[:-3]}.get)
    with pytest.raises(ExportError, match="cut short or altered"):
        b"".join(WRITERS["parquet"].write(view, given))

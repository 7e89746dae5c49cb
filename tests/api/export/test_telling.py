"""How far a large export is: told in rows, and shown on a terminal only."""

import os
import pty
import subprocess
import sys

import pytest

from api.export import WRITERS, Given
from api.export.figures import with_figures
from tests.generators.a_made_record import made_record


@pytest.mark.parametrize("name", ["csv", "xlsx", "parquet"])
def test_a_table_tells_rows_written_of_rows_there_are(name):
    view = made_record()
    many = view.model_copy(update={"measurements": view.measurements * 40})
    rows = many.measurements if name == "xlsx" else with_figures(many).measurements
    heard: list[tuple[int, int]] = []
    chunks = WRITERS[name].write(many, Given(told=lambda done, of: heard.append((done, of))))
    assert b"".join(chunks) == b"".join(WRITERS[name].write(many, Given()))
    assert {of for _, of in heard} == {len(rows)}
    done = [done for done, _ in heard]
    assert done == sorted(done)
    assert done[-1] == len(rows)
    assert any(0 < each < len(rows) for each in done), "nothing was told on the way"


SHOWING = """
from api.waiting import rows_of
with rows_of("writing csv, rows") as told:
    if told is not None:
        told(512, 1024)
        told(1024, 1024)
print("whole")
"""


def test_a_terminal_sees_the_rows_and_stdout_stays_the_file():
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", SHOWING],
        stdout=subprocess.PIPE,
        stderr=theirs,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "80"},
    ) as run:
        os.close(theirs)
        out, _ = run.communicate(timeout=20)
    shown = os.read(ours, 65536).decode()
    os.close(ours)
    assert out == b"whole\n"
    assert "1024/1024" in shown


def test_without_a_terminal_nothing_is_told():
    run = subprocess.run(
        [sys.executable, "-c", SHOWING], capture_output=True, timeout=20, check=True
    )
    assert (run.stdout, run.stderr) == (b"whole\n", b"")

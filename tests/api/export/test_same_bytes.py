"""The same record gives the same bytes, in whatever process, order of hashing and zone of time."""

import hashlib
import json
import os
import subprocess
import sys

import pytest

from api.export import WRITERS

# A trace goes along, so that pictures and raw readings are written, too.
WRITE = """
import hashlib, json, sys
from api.export import WRITERS, Given
from daq.capture.trace import Trace
from drivers.reading import Reading, Unit
from tests.generators.a_made_record import made_record

trace = Trace.of([Reading("g", "", t / 100, (t * 7 % 13) / 1000, Unit.MM) for t in range(60)])
view = made_record()
first = view.measurements[0].model_copy(update={"trace_sha256": trace.sha256})
view = view.model_copy(update={"measurements": (first, *view.measurements[1:])})
given = Given(trace={trace.sha256: trace.pack()}.get)
print(json.dumps({
    name: hashlib.sha256(b"".join(writer.write(view, given))).hexdigest()
    for name, writer in WRITERS.items()
}))
"""


def written(**elsewhere: str) -> dict[str, str]:
    run = subprocess.run(
        [sys.executable, "-c", WRITE],
        env={**os.environ, **elsewhere},
        capture_output=True,
        check=True,
        timeout=100,
    )
    return json.loads(run.stdout)


@pytest.fixture(scope="module")
def here() -> dict[str, str]:
    return written(PYTHONHASHSEED="1", TZ="UTC")


@pytest.mark.parametrize(
    "elsewhere",
    [
        {"PYTHONHASHSEED": "4711", "TZ": "Pacific/Kiritimati"},
        {"PYTHONHASHSEED": "0", "TZ": "America/St_Johns", "LC_ALL": "C", "PYTHONUTF8": "0"},
    ],
    ids=["day ahead", "half an hour off"],
)
def test_every_format_comes_out_the_same(here, elsewhere):
    assert set(here) == set(WRITERS)
    assert hashlib.sha256(b"").hexdigest() not in here.values()
    assert written(**elsewhere) == here

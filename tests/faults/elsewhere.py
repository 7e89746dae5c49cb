"""`benchtally verify` where nothing of the bench is: a process with no environment of its own, in
an empty folder, with an exported record and the public key."""

import json
import random
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
# The command once for each file: starting anew would cost a second each.
CODE = """
import json, sys
from typer.testing import CliRunner
from api.cli import app
for line in sys.stdin:
    said = CliRunner().invoke(app, ["verify", line.strip(), "--key", "bench.pub"])
    print(json.dumps([said.exit_code, said.output]), flush=True)
"""


def verified_elsewhere(folder: Path, records: list[bytes], public: bytes) -> list[list]:
    """Exit code and words of the command for each of these records. folder: an empty one."""
    (folder / "bench.pub").write_bytes(public)
    with subprocess.Popen(
        [sys.executable, "-c", CODE],
        cwd=folder,
        env={"PYTHONPATH": str(ROOT)},  # where the program is, and nothing else
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        answers = []
        for record in records:
            (folder / "record.json").write_bytes(record)
            process.stdin.write("record.json\n")
            process.stdin.flush()
            answers.append(json.loads(process.stdout.readline()))
        process.stdin.close()
    assert {path.name for path in folder.iterdir()} == {"bench.pub", "record.json"}
    return answers


def flipped_by_chance(data: bytes, times: int, seed: int) -> list[bytes]:
    """The record so many times, each with another bit of another byte flipped."""
    chance, found = random.Random(seed), []
    for _ in range(times):
        changed = bytearray(data)
        changed[chance.randrange(len(changed.rstrip()))] ^= 1 << chance.randrange(8)
        found.append(bytes(changed))
    return found

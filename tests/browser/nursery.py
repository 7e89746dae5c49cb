"""Services in processes of their own, each forked from one that has loaded everything already.

A service that starts anew spends seconds on imports. As a program: reads `start CONFIG` and
`kill`, one a line, and answers each: with the address it serves, and with `killed`.
"""

import os
import shlex
import signal
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
BENCH = """\
[bench]
name = "Bench 1"
data = "bench-data"
listen = "127.0.0.1:{number}"
"""


class Nursery:
    """The process that starts services and kills them; one at a time."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, __file__],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            bufsize=1,
        )

    def start(self, config: Path) -> str:
        """Start the service of that config; gives the address of its page."""
        return self._say(f"start {shlex.quote(str(config))}")

    def kill(self) -> None:
        """Kill the one that runs, if one does."""
        self._say("kill")

    def close(self) -> None:
        self._process.communicate()

    def _say(self, line: str) -> str:
        self._process.stdin.write(f"{line}\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline().strip()
        assert answer, f"the nursery ended at {line!r}"
        return answer


class Service:
    """A service from outside: its address, its start, its end."""

    def __init__(self, nursery: Nursery, folder: Path, tables: str) -> None:
        self._nursery = nursery
        self._file = folder / "bench.toml"
        self._tables = tables
        self._number = 0
        self.address = ""

    def start(self) -> None:
        """Start, or start again at the same address."""
        self._file.write_text(BENCH.format(number=self._number) + self._tables)
        self.address = self._nursery.start(self._file)
        self._number = int(self.address.rstrip("/").rpartition(":")[2])

    def kill(self) -> None:
        """Kill it, as when the power fails."""
        self._nursery.kill()


def nurse() -> None:
    # Loaded late by the product, and once here for all the services to come.
    import alembic.command  # noqa: F401

    from api.serve import serve

    child = 0
    for line in sys.stdin:
        word, *rest = shlex.split(line)
        if word == "start":
            child = os.fork()
            if child == 0:
                serve(Path(rest[0]), lambda address: print(address, flush=True))
                os._exit(0)
        elif child:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            child = 0
            print("killed", flush=True)
        else:
            print("killed", flush=True)


if __name__ == "__main__":
    nurse()

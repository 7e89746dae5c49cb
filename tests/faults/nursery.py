"""Benches to be killed, each forked from a process that has loaded everything already.

A bench that starts anew spends seconds on imports, so that few kills fit into a test. As a
program: reads `start FOLDER RUN PORT FIFO [URL]`, `kill` and `wait`, one a line, and answers
`wait` with how the bench ended. What it kills is a process of its own, by a real SIGKILL.
"""

import asyncio
import os
import shlex
import signal
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


class Nursery:
    """The process that starts benches and kills them; one at a time."""

    def __init__(self, folder: Path) -> None:
        self._fifo = folder / "announced"
        os.mkfifo(self._fifo)
        self._said = folder / "said"
        with self._said.open("wb") as said:
            self._process = subprocess.Popen(
                [sys.executable, __file__],
                env={**os.environ, "PYTHONPATH": str(ROOT)},
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=said,
                text=True,
                bufsize=1,
            )

    def start(self, folder: Path, run: str, port: int, url: str | None):
        """Start a bench; gives what it announces, a file that ends when it does."""
        told = [str(folder), run, str(port), str(self._fifo), *([url] if url else [])]
        self._say(f"start {shlex.join(told)}")
        return self._fifo.open("rb")

    def kill(self) -> None:
        self._say("kill")

    def wait(self) -> int:
        """How it ended: its return code, or minus the signal that killed it."""
        self._say("wait")
        return int(self._process.stdout.readline())

    def said(self) -> str:
        """The end of what the benches complained of; a fault of theirs is among it."""
        return self._said.read_text(errors="replace")[-4000:]

    def close(self) -> None:
        self._process.communicate()

    def _say(self, line: str) -> None:
        self._process.stdin.write(f"{line}\n")
        self._process.stdin.flush()


def nurse() -> None:
    # Loaded late by the product, and once here for all the benches to come.
    import aiomqtt  # noqa: F401
    import alembic.command  # noqa: F401
    import psycopg  # noqa: F401

    from tests.faults import telling

    child = 0
    for line in sys.stdin:
        word, *rest = shlex.split(line)
        if word == "start":
            child = os.fork()
            if child == 0:
                folder, run, port, fifo, *url = rest
                os.dup2(os.open(fifo, os.O_WRONLY), 1)
                asyncio.run(telling.main(Path(folder), run, int(port), url[0] if url else None))
                os._exit(0)
        elif word == "kill":
            os.kill(child, signal.SIGKILL)
        else:
            _, status = os.waitpid(child, 0)
            os.write(1, f"{os.waitstatus_to_exitcode(status)}\n".encode())


if __name__ == "__main__":
    nurse()

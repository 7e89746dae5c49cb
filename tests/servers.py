"""Real servers for tests: PostgreSQL and mosquitto of Debian, on free ports, as users of theirs."""

import contextlib
import getpass
import os
import random
import shutil
import socket
import subprocess
import tempfile
import time
from pathlib import Path
from urllib.parse import quote

import psycopg
import pytest

START_S = 60  # on a machine that is busy; where it is there sooner nobody waits


# Below the ports that the kernel gives to whoever connects to something: a server that is stopped
# for a while, or not started yet, would otherwise find its port taken by any client of any test.
PORTS = range(12_000, 32_000)


def free_port() -> int:
    while True:
        port = random.SystemRandom().choice(PORTS)
        with socket.socket() as probe, contextlib.suppress(OSError):
            probe.bind(("127.0.0.1", port))
            return port


def unprivileged(name: str) -> dict:
    """What lets a child run as that user where we are root (both servers refuse to be root)."""
    return {"user": name, "group": name, "extra_groups": []} if os.getuid() == 0 else {}


class Postgres:
    """A PostgreSQL server of its own. Each `database` is a schema nobody else uses."""

    def __init__(self, programs: Path, folder: Path, *options: str) -> None:
        self.port = free_port()
        self._run_as = unprivileged("postgres")
        self._folder, self._programs, self._options = folder, programs, options
        subprocess.run(
            [
                *(programs / "initdb", "-D", folder / "data", "-A", "trust", "-U", "bench"),
                *("--no-sync", "-E", "UTF8", "--locale=C.UTF-8"),
            ],
            check=True,
            stdout=subprocess.DEVNULL,
            **self._run_as,
        )
        self.process = None
        self.start()

    def start(self) -> None:
        self.process = subprocess.Popen(
            [
                *(self._programs / "postgres", "-D", self._folder / "data", "-p", str(self.port)),
                *("-k", self._folder, "-c", "listen_addresses=127.0.0.1"),
                *(each for option in self._options for each in ("-c", option)),
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            **self._run_as,
        )
        deadline = time.monotonic() + START_S
        while True:
            try:
                self.connect().close()
                return
            except psycopg.OperationalError:
                if time.monotonic() > deadline or self.process.poll() is not None:
                    raise
                time.sleep(0.05)

    def stop(self) -> None:
        self.process.send_signal(
            3
        )  # SIGQUIT: at once, https://www.postgresql.org/docs/15/server-shutdown.html
        self.process.wait()

    def connect(self, schema: str | None = None) -> psycopg.Connection:
        return psycopg.connect(self.url(schema), autocommit=True)

    def url(self, schema: str | None = None) -> str:
        plain = f"postgresql://bench@127.0.0.1:{self.port}/postgres"
        return plain if schema is None else f"{plain}?options={quote(f'-csearch_path={schema}')}"

    def database(self, name: str) -> str:
        """The URL of an empty schema with that name, made if it is not there."""
        with contextlib.closing(self.connect()) as connection:
            connection.execute(f'CREATE SCHEMA IF NOT EXISTS "{name}"')
        return self.url(name)


@pytest.fixture(scope="session")
def postgres():
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"))
    if not found:
        pytest.skip("PostgreSQL is not installed (apt-get install postgresql)")
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    if os.getuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
    # What is tested here is not PostgreSQL's own durability, so its fsync may be left out.
    server = Postgres(found[-1].parent, folder, "fsync=off", "full_page_writes=off")
    yield server
    server.stop()
    shutil.rmtree(folder)


class Mosquitto:
    """An MQTT broker on a free port, to be stopped and started again."""

    def __init__(self, program: str, folder: Path, *lines: str) -> None:
        self.port = free_port()
        self._config = folder / "mosquitto.conf"
        self._config.write_text(
            "\n".join([f"listener {self.port} 127.0.0.1", f"user {getpass.getuser()}", *lines, ""])
        )
        self._program = program
        self.process = None

    def start(self) -> None:
        self.process = subprocess.Popen(
            [self._program, "-c", self._config],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        deadline = time.monotonic() + START_S
        while True:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                return
            except OSError:
                if time.monotonic() > deadline or self.process.poll() is not None:
                    raise
                time.sleep(0.02)

    def stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.kill()
            self.process.wait()


@pytest.fixture
def mosquitto(tmp_path):
    """Makes a broker with these lines in its configuration; `start` it."""
    program = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")
    if program is None:
        pytest.skip("mosquitto is not installed (apt-get install mosquitto)")
    made = []

    def make(*lines: str) -> Mosquitto:
        folder = tmp_path / f"broker-{len(made)}"
        folder.mkdir()
        made.append(Mosquitto(program, folder, *(lines or ("allow_anonymous true",))))
        return made[-1]

    yield make
    for broker in made:
        broker.stop()

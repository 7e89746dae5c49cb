"""The command: sentences instead of tracebacks, exit codes, files on a store."""

import contextlib
import subprocess
import sys
import time

import pytest
from typer.testing import CliRunner

from api.cli import app
from daq.records.journal import Journal

RUNNER = CliRunner()


def run(*arguments):
    result = RUNNER.invoke(app, [str(each) for each in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
async def store(client, job, stem, service):
    """A data folder with one measurement in it, while its bench is still running."""
    await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)
    return service.data


def test_help_is_quick():
    command = [sys.executable, "-m", "api.cli", "--help"]
    took_s = []
    for _ in range(3):
        began_s = time.perf_counter()
        shown = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        took_s.append(time.perf_counter() - began_s)
    for name in ("demo", "serve", "gauges", "evaluate", "export", "verify"):
        assert f"\n  {name} " in shown
    bare_s = []
    for _ in range(3):
        began_s = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import typer"], check=True)
        bare_s.append(time.perf_counter() - began_s)
    # Nothing heavy is loaded: little more than the library that parses the command line.
    assert min(took_s) < 3 * min(bare_s) + 0.1


def test_help_loads_nothing_heavy():
    heavy = ("numpy", "scipy", "sqlalchemy", "fastapi", "rich", "pydantic", "serial")
    code = (
        "import sys\nfrom typer.testing import CliRunner\nimport api.cli\n"
        "assert CliRunner().invoke(api.cli.app, ['--help']).exit_code == 0\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code], check=False, capture_output=True, text=True
    )
    assert loaded.stdout.strip() == "[]", loaded.stderr


@pytest.mark.parametrize("suffix", ["csv", "json"])
async def test_export_writes_what_is_served(client, job, store, tmp_path, suffix):
    served = (await client.get(f"/api/v1/jobs/{job}/export/{suffix}")).content
    out = tmp_path / f"sheet.{suffix}"
    for name in ("J-1", job):
        result = run("export", name, "--as", suffix, "--out", out, "--data", store)
        assert result.exit_code == 0, result.stderr
        assert out.read_bytes() == served
        assert f"wrote {out}" in result.stderr
    to_stdout = run("export", "J-1", "--as", suffix, "--data", store)
    assert to_stdout.stdout_bytes == served


async def test_export_describes_a_table_beside_it(store, tmp_path, bench_toml):
    out = tmp_path / "sheet.csv"
    assert run("export", "J-1", "--as", "csv", "--out", out, "--config", bench_toml).exit_code == 0
    assert '"url": "sheet.csv"' in (tmp_path / "sheet.csv-metadata.json").read_text()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("J-9", "--as", "csv"), "no job with the number or id 'J-9'"),
        (("J-1", "--as", "docx"), "there are csv, json"),
        (("J-1", "--as", "csv", "--out", "no/such/folder/x.csv"), "cannot be written"),
        (("J-1", "--as", "csv", "--config", "none.toml"), "which records"),
    ],
)
async def test_export_that_cannot_be_done(store, arguments, said):
    result = run("export", *arguments, "--data", store)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""


async def test_export_needs_to_know_which_records(tmp_path):
    assert "which records" in run("export", "J", "--as", "csv").stderr
    result = run("export", "J", "--as", "csv", "--data", tmp_path)
    assert result.exit_code == 1
    assert "There are no records" in result.stderr


async def test_verify_says_whole_and_names_what_was_altered(store):
    result = run("verify", store)
    assert result.exit_code == 0
    assert "job J-1" in result.stdout
    assert ": whole, 3 entries, open, hash " in result.stdout
    assert run("verify", store / "bench.sqlite3").stdout == result.stdout


async def test_verify_of_an_altered_record_fails(store, service):
    import sqlite3

    with contextlib.closing(sqlite3.connect(store / "bench.sqlite3")) as file:
        for (name,) in file.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            file.execute(f"DROP TRIGGER {name}")
        altered = file.execute(
            "UPDATE entries SET body = replace(body, '6.9710', '6.9610') WHERE number = 3"
        )
        assert altered.rowcount == 1
        file.commit()
    result = run("verify", store)
    assert result.exit_code == 1
    assert "NOT whole" in result.stdout
    assert "entry 3" in result.stdout
    exported = run("export", "J-1", "--as", "csv", "--data", store)
    assert exported.exit_code == 1
    assert "not as it was written" in exported.stderr


def test_verify_of_nothing(tmp_path):
    assert run("verify", tmp_path).exit_code == 1


def test_gauges_listens(tmp_path):
    import threading

    from drivers.pretend.port import PretendPort

    port = PretendPort(tmp_path / "gauge")
    stop = threading.Event()

    def speak():
        while not stop.wait(0.05):
            port.write(b"+001.234\r\n")

    speaking = threading.Thread(target=speak)
    speaking.start()
    try:
        result = run("gauges", "--listen", port.path, "--profile", "plain-line", "--seconds", "0.8")
    finally:
        stop.set()
        speaking.join()
        port.unplug()
    assert result.exit_code == 0
    assert "'+001.234\\r\\n'  →  1.234 mm" in result.stdout
    assert "readings understood as profile 'plain-line' in 0.8 s." in result.stdout


def test_gauges_says_what_is_wrong(tmp_path):
    result = run(
        *("gauges", "--listen", tmp_path / "none", "--profile", "plain-line"),
        *("--seconds", "0.2"),
    )
    assert result.exit_code == 0
    assert "is not there. Plug the gauge in" in result.stdout
    result = run("gauges", "--listen", tmp_path / "none", "--profile", "nope")
    assert result.exit_code == 2
    assert "shipped are" in result.stderr


def test_gauges_lists(monkeypatch):
    from drivers.find import Plugged

    monkeypatch.setattr("api.listen.known.plugged", list)
    assert "No serial port" in run("gauges").stderr
    found = [Plugged("/dev/ttyUSB7", "usb:0403:6001:X", "an adapter")]
    monkeypatch.setattr("api.listen.known.plugged", lambda: found)
    assert "/dev/ttyUSB7" in run("gauges").stdout


def test_serve_without_a_config_that_holds(tmp_path):
    file = tmp_path / "bench.toml"
    file.write_text("[bench]\nname = 1\n")
    result = run("serve", "--config", file)
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 2
    assert all(line.startswith(f"{file}, line ") for line in result.stderr.splitlines())
    assert run("serve", "--config", tmp_path / "none.toml").exit_code == 2


def test_serve_on_records_that_another_bench_has(bench_toml, tmp_path):
    data = tmp_path / "bench-data"
    journal = Journal.open(data, now=None, new_id=None)
    with contextlib.closing(journal):
        result = run("serve", "--config", bench_toml)
    assert result.exit_code == 1
    assert "in use by another bench" in result.stderr


def test_serve_on_a_port_that_is_in_use(bench_toml, tmp_path):
    import socket

    with contextlib.closing(socket.socket()) as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        number = taken.getsockname()[1]
        text = bench_toml.read_text().replace("127.0.0.1:0", f"127.0.0.1:{number}")
        bench_toml.write_text(text)
        result = run("serve", "--config", bench_toml)
    assert result.exit_code == 1
    assert f"port {number} of 127.0.0.1 is in use" in result.stderr
    assert not (tmp_path / "bench-data").exists()

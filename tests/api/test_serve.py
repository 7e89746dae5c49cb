"""The real service as a process of its own: started, asked, stopped by a signal."""

import json
import re
import signal
import subprocess
import sys
import time
import urllib.request

import pytest


@pytest.fixture
def serving(bench_toml):
    """A running `benchtally serve` and its address."""
    process = subprocess.Popen(
        [sys.executable, "-m", "api.cli", "serve", "--config", str(bench_toml)],
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        found = re.search(r"http://\S+", process.stderr.readline())
        address = found.group(0).rstrip("/")
        _until_up(f"{address}/api/v1/health", process)
        yield process, address
    finally:
        process.kill()
        process.wait()
        process.stderr.close()


def _until_up(url, process):
    for _ in range(4000):
        assert process.poll() is None, process.stderr.read()
        try:
            return get(url)
        except OSError:
            time.sleep(0.025)
    raise AssertionError("the service did not come up")


def get(url):
    with urllib.request.urlopen(url, timeout=60) as answer:
        return json.loads(answer.read())


def post(url, body):
    request = urllib.request.Request(
        url, json.dumps(body).encode(), {"content-type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=60) as answer:
        return json.loads(answer.read())


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_service_is_stopped_and_nothing_is_lost(serving, bench_toml, stem, how):
    process, address = serving
    job = post(f"{address}/api/v1/jobs", {"number": "J-1", "plan": "four-by-two"})
    kept = post(f"{address}/api/v1/jobs/{job['id']}/measurements", stem)
    process.send_signal(how)
    assert process.wait(timeout=60) == 0
    assert "Traceback" not in process.stderr.read()
    exported = subprocess.run(
        [
            sys.executable,
            "-m",
            "api.cli",
            "export",
            "J-1",
            "--as",
            "json",
            "--config",
            str(bench_toml),
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert [m["id"] for m in json.loads(exported.stdout)["measurements"]] == [kept["id"]]


def test_a_real_server_answers_what_is_no_request(serving):
    import socket

    _, address = serving
    host, port = address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=60) as raw:
        raw.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: x\r\n\r\n")
        assert b" 400 " in raw.recv(4096).split(b"\r\n")[0] + b" "
    assert get(f"{address}/api/v1/health")["status"] in {"ok", "trouble"}


def test_a_service_that_was_killed_says_what_was_being_captured(serving, bench_toml):
    process, address = serving
    post(f"{address}/api/v1/jobs", {"number": "J-1", "plan": "four-by-two"})
    process.kill()
    process.wait()
    exported = subprocess.run(
        [
            sys.executable,
            "-m",
            "api.cli",
            "export",
            "J-1",
            "--as",
            "json",
            "--config",
            str(bench_toml),
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert json.loads(exported.stdout)["capturing"]["characteristic"] == "valve.stem_runout"

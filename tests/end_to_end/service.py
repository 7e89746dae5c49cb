"""A running `benchtally serve` in a process of its own, with gauges we plug into pseudo ports."""

import csv
import json
import os
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

from drivers.pretend.port import PretendPort
from tests.servers import free_port

ROOT = Path(__file__).parents[2]
TRACES = ROOT / "fixtures/traces"
PATIENCE_S = 180.0  # a busy machine starts a service slowly; nobody waits longer than need be


def truth_of(kind, name):
    with (TRACES / kind / "truth.csv").open() as file:
        return next(row for row in csv.DictReader(file) if row["file"] == name)


def readings_of(kind, name):
    with (TRACES / kind / name).open() as file:
        return [(float(row["t_s"]), row["value_mm"]) for row in csv.DictReader(file)]


class Service:
    """The service from outside: its HTTP, its ports, its process."""

    def __init__(self, folder, gauges, rings=()):
        self.folder = folder
        self.ports = {name: PretendPort(folder / name) for name in gauges}
        self.address = f"127.0.0.1:{free_port()}"
        tables = [
            (
                f'[bench]\nname = "Bench 1"\ndata = "data"\nlisten = "{self.address}"\n'
                'turning = "one-way"\n[vblock]\nangle_deg = 90\n'
            )
        ]
        for name, measures in gauges.items():
            tables.append(
                f'[[gauge]]\nname = "{name}"\nserial = "G-{name}"\n'
                f'port = "{self.ports[name].path}"\nprofile = "plain-line"\n'
                f'resolution_mm = 0.0005\nmeasures = ["{measures}"]\n'
            )
        tables += [
            f'[[ring]]\nname = "{name}"\nsize_mm = {size}\ncertificate = "invented"\n'
            for name, size in rings
        ]
        (folder / "bench.toml").write_text("\n".join(tables))
        self.process = None

    def start(self):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "api.cli", "serve", "--config", str(self.folder / "bench.toml")],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        self.until(self._is_up, "the service answers")

    def _is_up(self):
        assert self.process.poll() is None, self.process.stdout.read().decode()
        try:
            states = {each["name"]: each["state"] for each in self.get("/gauges")["gauges"]}
        except (OSError, urllib.error.URLError):
            return False
        return all(state != "gone" for state in states.values())

    def kill(self):
        self.process.kill()
        self.process.communicate()

    def stop(self):
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            self.process.communicate(timeout=PATIENCE_S)
        for port in self.ports.values():
            port.unplug()

    def until(self, true, what, patience_s=PATIENCE_S):
        end_s = time.monotonic() + patience_s
        while not (found := self._asked(true)):
            assert time.monotonic() < end_s, f"waited in vain until {what}"
            time.sleep(0.05)
        return found

    def _asked(self, true):
        try:
            return true()
        except urllib.error.URLError as error:
            said = self.process.communicate(timeout=PATIENCE_S)[0].decode()[-4000:]
            ended = f"the service ended with {self.process.returncode}"
            raise AssertionError(f"{ended}; it said: {said}") from error

    def bytes_at(self, path):
        with urllib.request.urlopen(f"http://{self.address}{path}", timeout=PATIENCE_S) as answer:
            return answer.read()

    def get(self, path):
        return self._call("GET", path, None)

    def post(self, path, body):
        return self._call("POST", path, body)

    def _call(self, method, path, body):
        request = urllib.request.Request(
            f"http://{self.address}/api/v1{path}",
            method=method,
            data=None if body is None else json.dumps(body).encode(),
            headers={"content-type": "application/json"},
        )
        with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
            return json.load(answer)

    def job(self, number="J-1"):
        return self.post("/jobs", {"number": number, "plan": "four-by-two", "person": "R."})["id"]

    def up(self, job, characteristic, position, place=None):
        body = {"characteristic": characteristic, "position": position}
        self.post(f"/jobs/{job}/up", body if place is None else {**body, "place": place})

    def measurements(self, job, characteristic=None):
        found = self.get(f"/jobs/{job}/record")["measurements"]
        return [m for m in found if characteristic in {None, m["characteristic"]}]

    def play(self, name, readings, faster=1.0):
        """Send readings (seconds, text) in their own time, or so many times faster."""
        port, began_s, first_s = self.ports[name], time.monotonic(), readings[0][0]
        for t_s, text in readings:
            wait_s = began_s + (t_s - first_s) / faster - time.monotonic()
            if wait_s > 0:
                time.sleep(wait_s)
            port.write(f"{float(text):+012.6f}\r\n".encode())

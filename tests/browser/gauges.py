"""Pretend gauges of these tests: each says where it stands, on a pseudo serial port."""

import threading

from drivers.pretend.port import PretendPort

INTERVAL_S = 0.05


class Speaker:
    """A gauge that says one number, twenty times a second, until told another."""

    def __init__(self, path, at_mm=11.5):
        self.port = PretendPort(path)
        self._shown = self._target = at_mm
        self._stop = threading.Event()
        self._quiet = threading.Event()
        self._thread = threading.Thread(target=self._speak)
        self._thread.start()

    def show(self, value_mm):
        """Move there: a spindle turns, it does not jump."""
        self._target = value_mm

    def hush(self, *, yes=True):
        """Say nothing, as one whose battery is flat."""
        (self._quiet.set if yes else self._quiet.clear)()

    def stop(self):
        self._stop.set()
        self._thread.join()
        self.port.unplug()

    def _speak(self):
        while not self._stop.wait(INTERVAL_S):
            self._shown += max(-1.0, min(1.0, self._target - self._shown))
            if not self._quiet.is_set():
                self.port.write(b"%+08.3f\r\n" % self._shown)

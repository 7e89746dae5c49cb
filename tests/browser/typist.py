"""A gauge that types like a keyboard: its keys reach the browser as the system would hand them on.

They go over the browser's own protocol, each with the time at which the keyboard sent it, all at
once: as with a real keyboard nobody waits for the page between two keys. The protocol is at
https://chromedevtools.github.io/devtools-protocol/tot/Input/#method-dispatchKeyEvent
"""

import contextlib
import json
import socket
import time
import urllib.request

from websockets.sync.client import connect

KEY_S = 0.016  # a keyboard on USB tells a key every 8 ms, and each is pressed and let go
# Text and virtual key code where they are not the key's own letter.
CODES = {
    "F9": ("", 120),
    "F4": ("", 115),
    "Enter": ("\r", 13),
    "Tab": ("", 9),
    **{sign: (sign, code) for sign, code in zip("+,-.", (187, 188, 189, 190), strict=True)},
}


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextlib.contextmanager
def typist_at(port, address):
    """One for the only page that is open at that address. port: the browser's own."""
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/json", timeout=20) as answer:
        pages = [each for each in json.load(answer) if each["url"].startswith(address)]
    assert len(pages) == 1, pages
    with connect(pages[0]["webSocketDebuggerUrl"], open_timeout=20) as told:
        yield Typist(told)


class Typist:
    """Types into a page. told: an open socket to where the browser is told of its keys."""

    def __init__(self, told):
        self._socket = told
        self._number = 0

    def type(self, text, *, end="Enter", key_s=KEY_S):
        """Type that text and the key that ends it, so many seconds from key to key."""
        began_s = time.time() - key_s * (len(text) + 1)
        keys = [*text, *([end] if end else [])]
        for place, key in enumerate(keys):
            self._send("keyDown", key, began_s + place * key_s)
            self._send("keyUp", key, began_s + (place + 0.5) * key_s)
        self._heard(2 * len(keys))

    def press(self, key, *, times=1, held_s=0.1, apart_s=0.15):
        """Press a foot switch that is that key, shortly and so many times."""
        began_s = time.time() - times * (held_s + apart_s)
        for place in range(times):
            at_s = began_s + place * (held_s + apart_s)
            self._send("keyDown", key, at_s)
            self._send("keyUp", key, at_s + held_s)
        self._heard(2 * times)

    def hold(self, key):
        """Step on it; gives what lets it go."""
        self._send("keyDown", key, time.time())
        self._heard(1)

        def let_go():
            self._send("keyUp", key, time.time())
            self._heard(1)

        return let_go

    def _heard(self, count):
        for _ in range(count):
            answer = json.loads(self._socket.recv(timeout=20))
            assert "error" not in answer, answer

    def _send(self, kind, key, at_s):
        self._number += 1
        text, code = CODES.get(key, (key, ord(key[0].upper())))
        told = {"type": kind, "key": key, "timestamp": at_s, "windowsVirtualKeyCode": code}
        if kind == "keyDown" and text:
            told["text"] = text
        message = {"id": self._number, "method": "Input.dispatchKeyEvent", "params": told}
        self._socket.send(json.dumps(message))

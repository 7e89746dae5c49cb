"""A pseudo serial port that another process writes lines into as fast as they are taken."""

import contextlib
import os
import subprocess
import sys
from collections.abc import Iterator

import serial

# The lines again and again, until the reader is gone.
WRITER = """
import os, sys
lines = sys.stdin.buffer.read()
try:
    while True:
        os.write(int(sys.argv[1]), lines)
except OSError:
    pass
"""


@contextlib.contextmanager
def flooded_port(lines: bytes) -> Iterator[str]:
    """The path of the port, until the block is left."""
    ours, theirs = os.openpty()
    path = os.ttyname(theirs)
    with serial.Serial(path):  # raw from the start; `theirs` keeps it open between the readers
        pass
    command = [sys.executable, "-c", WRITER, str(ours)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, pass_fds=[ours]) as writer:
        assert writer.stdin is not None
        with writer.stdin:
            writer.stdin.write(lines)
        yield path
        writer.kill()
    os.close(ours)
    os.close(theirs)

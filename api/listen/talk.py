"""A gauge set up from the page: what was said, what is asked now, and how it ended.

The guided way of `benchtally gauges --listen`, with the page in the place of the terminal. It runs
in a thread of its own, because it waits for a person; a person who went away ends it.
"""

import queue
import threading
from collections.abc import Callable
from pathlib import Path

from api.listen.command import DONE, Terminal, guide
from drivers.profile import ProfileError

ANSWER_S = 300.0  # a person who says nothing for so long went away
LINES_MOST = 400

Guide = Callable[[str, Terminal, Path | None, Path | None], int]


class _StoppedError(Exception):
    pass


class Talk:
    """One talk about one port. Safe to ask from any thread."""

    def __init__(self, port: str, lead: Guide = guide) -> None:
        self.port = port
        self._lead = lead
        self._lines: list[str] = []
        self._question: tuple[str, str] | None = None
        self._answers: queue.Queue[str | None] = queue.Queue()
        self._placed = False
        self._thread = threading.Thread(target=self._talk, name="listening", daemon=True)
        self._thread.start()

    @property
    def lines(self) -> list[str]:
        """What was said until now."""
        return list(self._lines)

    @property
    def question(self) -> tuple[str, str] | None:
        """What is asked now, and what counts as the answer where nothing is said."""
        return self._question

    @property
    def is_over(self) -> bool:
        """Whether the port is free again."""
        return not self._thread.is_alive()

    @property
    def is_placed(self) -> bool:
        """Whether it ended with a section for the config."""
        return self._placed

    def answer(self, text: str) -> bool:
        """Answer what is asked; False where nothing is."""
        if self._question is None:
            return False
        self._question = None
        self._answers.put(text)
        return True

    def stop(self) -> None:
        """Ask and answer nothing more; what is being listened to now is heard to its end."""
        self._answers.put(None)

    def _talk(self) -> None:
        person = Terminal(say=self._say, prompt=self._ask, present=True)
        try:
            self._placed = self._lead(self.port, person, None, None) == DONE
        except _StoppedError:
            self._say("Stopped; nothing was set up.")
        except (OSError, ProfileError) as error:
            self._say(str(error))

    def _say(self, text: str) -> None:
        if len(self._lines) < LINES_MOST:
            self._lines.append(text)

    def _ask(self, question: str, default: str) -> str:
        self._question = (question, default)
        try:
            said = self._answers.get(timeout=ANSWER_S)
        except queue.Empty:
            said = None
        self._question = None
        if said is None:
            raise _StoppedError
        return said.strip() or default

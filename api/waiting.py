"""Progress for whoever waits longer than two seconds: on stderr, and only on a terminal."""

import contextlib
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

T = TypeVar("T")
PATIENCE_S = 2.0


def progress_over(items: Sequence[T], what: str) -> Iterator[T]:
    """Each of `items`; once it has taken PATIENCE_S, a bar shows how far it is."""
    if not sys.stderr.isatty():
        yield from items
        return
    began_s = time.monotonic()
    done = 0
    for item in items:
        if time.monotonic() - began_s > PATIENCE_S:
            break
        yield item
        done += 1
    if done < len(items):
        from rich.console import Console
        from rich.progress import track

        rest, terminal = items[done:], Console(stderr=True)
        yield from track(
            rest, what, total=len(items), completed=done, console=terminal, transient=True
        )


@contextlib.contextmanager
def working_on(what: str) -> Iterator[None]:
    """A sign of life while something of unknown length is done."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(what):
        yield


@contextlib.contextmanager
def share_of(what: str) -> Iterator[Callable[[float], None]]:
    """A bar for something that says itself how far it is: called with a share from 0 to 1."""
    if not sys.stderr.isatty():
        yield lambda _share: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=1.0)
        yield lambda share: bar.update(task, completed=share)


@contextlib.contextmanager
def rows_of(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar that counts, called with how many are done and how many there are; None where nobody
    sees it. Until it is called first it only says that something is done."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)
        yield lambda done, there_are: bar.update(task, completed=done, total=there_are)

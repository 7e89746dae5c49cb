"""How far a writer is: told to whoever waits, row by row, and by nobody else's clock."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

T = TypeVar("T")
# Rows written so far, and rows there are.
Told = Callable[[int, int], None]
ROWS_BETWEEN = 512


def telling(rows: Sequence[T], told: Told | None) -> Iterator[T]:
    """Each of `rows`; `told` is called on the way and when the last one is written."""
    if told is None:
        yield from rows
        return
    for done, row in enumerate(rows):
        if done % ROWS_BETWEEN == 0:
            told(done, len(rows))
        yield row
    told(len(rows), len(rows))

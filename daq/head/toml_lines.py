"""Where a key stands in a TOML text; the parser of the standard library does not say."""

import re
from collections import Counter

_HEADER = re.compile(r"""\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$""")
_KEY = re.compile(r"""\s*["']?([^"'=\s#\[\]]+)["']?\s*=""")


def line_of(text: str, loc: tuple[str | int, ...]) -> int:
    """The line, from 1, of the deepest part of `loc` that can be found; 1 when nothing can.

    loc: as pydantic gives it: table, number within an array of tables, key.
    """
    found, deepest = 1, 0
    arrays: Counter[tuple[str | int, ...]] = Counter()
    here: tuple[str | int, ...] = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            here = _opened(header[2], arrays, counts=header[1] == "[[")
            depth = min(len(here), len(loc))
            if depth > deepest and here[:depth] == loc[:depth]:
                found, deepest = number, depth
        elif (key := _KEY.match(line)) and (*here, key[1]) == loc[: len(here) + 1]:
            return number
    return found


def _opened(
    header: str, arrays: Counter[tuple[str | int, ...]], *, counts: bool
) -> tuple[str | int, ...]:
    """Where a header leads to: in `[steps.head]` to the last of the `[[steps]]` opened so far."""
    here: tuple[str | int, ...] = ()
    names = [name.strip().strip("\"'") for name in header.split(".")]
    for place, name in enumerate(names, start=1):
        here = (*here, name)
        if place == len(names) and counts:
            arrays[here] += 1
        if arrays[here]:
            here = (*here, arrays[here] - 1)
    return here

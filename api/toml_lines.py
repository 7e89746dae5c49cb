"""Where a key stands in a TOML text; the parser of the standard library does not say."""

import re
from collections import Counter

_HEADER = re.compile(r"""\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$""")
_KEY = re.compile(r"""\s*["']?([^"'=\s#\[\]]+)["']?\s*=""")


def line_of(text: str, loc: tuple[str | int, ...]) -> int:
    """The line, from 1, of the deepest part of `loc` that can be found; 1 when nothing can.

    loc: as pydantic gives it: table, number within an array of tables, key.
    """
    found, seen = 1, Counter[str]()
    here: tuple[str | int, ...] = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            name = header[2].strip("\"'")
            here = (name,)
            if header[1] == "[[":
                here = (name, seen[name])
                seen[name] += 1
            if here[: len(loc)] == loc[: len(here)]:
                found = number
        elif (key := _KEY.match(line)) and (*here, key[1]) == loc[: len(here) + 1]:
            return number
    return found

"""Finding jobs: by the beginnings of words in what was said of them, open or closed, page by page.

A word of a hundred thousand jobs is looked up in an index; no row is read that is not shown.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any, Literal

from sqlalchemy import Connection, Select, bindparam, delete, insert, select

from daq.records.ready import Ready
from daq.records.rows import JobRow, job_row
from daq.records.tables import job_words, jobs

State = Literal["open", "closed"]
# What a person may ask for: the number, who it is for, what is stamped on the head, the plan.
_SAID = ("number", "customer", "head_serial")
WORDS_MOST, LETTERS_MOST = 40, 64
RARE_MOST = 500
_LAST_LETTER = "\U0010ffff"

_INSERT_WORD = Ready(insert(job_words), [column.name for column in job_words.c])
_FORGET = delete(job_words).where(job_words.c.ordinal == bindparam("of"))


def words_in(texts: Iterable[str]) -> list[str]:
    """The words in these texts, each once, in lower case and cut to a length."""
    found = (word for text in texts for word in re.findall(r"\w+", text.casefold()))
    return list(dict.fromkeys(word[:LETTERS_MOST] for word in found))[:WORDS_MOST]


def words_of(opening: Mapping[str, Any]) -> list[str]:
    """The words that a job with this opening is found by."""
    said = [opening.get(name) for name in _SAID]
    return words_in([*(text for text in said if isinstance(text, str)), opening["plan"]["name"]])


def note_words(connection: Connection, ordinal: int, opening: Mapping[str, Any]) -> None:
    """Have the job found by its words."""
    for word in words_of(opening):
        _INSERT_WORD.run(connection, {"word": word, "ordinal": ordinal})


def forget_words(connection: Connection, ordinal: int) -> None:
    """Have the job found no more."""
    connection.execute(_FORGET, {"of": ordinal})


def found_jobs(
    connection: Connection, text: str, state: State | None, before: int | None, limit: int
) -> list[JobRow]:
    """Jobs, newest first, that have a word beginning with each word of `text`.

    before: only those older than the one with that ordinal.
    """
    query = select(jobs).order_by(jobs.c.ordinal.desc()).limit(limit)
    words = words_in([text])
    if text.strip() and not words:
        return []
    rare = next((word for word in words if _is_rare(connection, word)), None)
    for word in words:
        # The rare word is looked up; the others are looked for in what that finds, or, where all
        # are common, in the newest jobs, among which there will be enough.
        has = _with(word)
        of_it = has.where(job_words.c.ordinal == jobs.c.ordinal)
        query = query.where(jobs.c.ordinal.in_(has) if word == rare else of_it.exists())
    if state is not None:
        is_open = jobs.c.signed_at.is_(None)
        query = query.where(is_open if state == "open" else ~is_open)
    if before is not None:
        query = query.where(jobs.c.ordinal < before)
    return [job_row(row) for row in connection.execute(query).mappings()]


def _is_rare(connection: Connection, word: str) -> bool:
    return len(connection.execute(_with(word).limit(RARE_MOST + 1)).all()) <= RARE_MOST


def _with(word: str) -> Select[tuple[int]]:
    column = job_words.c.word
    return select(job_words.c.ordinal).where(column >= word, column < word + _LAST_LETTER)

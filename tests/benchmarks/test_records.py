"""How much of the disk's own pace is left when measurements are committed one by one.

Run by hand: `python -m pytest tests/benchmarks/test_records.py -n 0 -s`; with
`BENCH_MEASUREMENTS=10_000_000` the second one asks of ten million measurements, which take 6 GB for
a while. The ratios are of one run on one disk; only they are compared, never the times.
"""

import contextlib
import hashlib
import itertools
import json
import os
import random
import sqlite3
import statistics
import time
from datetime import UTC, datetime

import pytest

from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records.base import Access
from daq.records.counted import sign_count
from daq.records.journal import Journal
from daq.records.opening import database_of
from daq.records.records import Records
from daq.records.signing import Signer

ROUNDS, APPENDS_A_ROUND = 12, 100
TRACE_BYTES = 3000  # a minute of a turn at 25 readings a second, two bytes each
RATIO_LEAST = 0.5

SMALL, LARGE = 10_000, int(os.environ.get("BENCH_MEASUREMENTS", "1_000_000"))
MEASUREMENTS_A_JOB = 100
OPENINGS = 300
OPENING_RATIO_MOST = 2.0


def measurement(number: int) -> Draft:
    packed = random.Random(number).randbytes(TRACE_BYTES)
    body = {
        "position": "1I",
        "characteristic": "valve.stem_runout",
        "place": None,
        "value": "0.0123",
        "unit": "mm",
        "uncertainty": "0.0021",
        "k": "2",
        "status": "PASS",
        "complete": True,
        "came": "captured",
        "gauge": "runout indicator",
        "person": "invented",
        "limits": {"lower": None, "upper": "0.03"},
        "limit_source": "invented",
        "warnings": [],
        "trace_sha256": hashlib.sha256(packed).hexdigest(),
        "detail": {"turns": ["0.0121", "0.0124", "0.0123"], "budget": ["invented line"] * 6},
    }
    return Draft("job-1", EntryKind.KEPT, body, packed)


@pytest.fixture
def journal(tmp_path):
    ids = itertools.count(1)
    plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    journal = Journal.open(
        tmp_path / "ours", now=lambda: datetime.now(UTC), new_id=lambda: f"id-{next(ids)}"
    )
    with journal:
        journal.append([Draft("job-1", EntryKind.JOB_OPENED, {"number": "A 1", "plan": plan})])
        yield journal


@pytest.fixture
def bare(tmp_path, journal):
    """Plain SQLite with the very tables of the journal, copied from it, and the same pragmas."""
    plain = sqlite3.connect(tmp_path / "bare.sqlite3", isolation_level=None)
    with sqlite3.connect(journal._database.file) as source:
        source.backup(plain)
    source.close()
    for pragma in ("foreign_keys = ON", "journal_mode = WAL", "synchronous = FULL"):
        plain.execute(f"PRAGMA {pragma}")
    yield plain
    plain.close()


def commit_bare(plain, number, draft, previous):
    """The same rows, with a hash of the same length that costs nothing."""
    body = json.dumps(draft.body)
    digest = f"{number:064}"
    plain.execute("BEGIN IMMEDIATE")
    plain.execute("INSERT INTO traces VALUES (?, ?)", (draft.body["trace_sha256"], draft.trace))
    plain.execute(
        "INSERT INTO entries (job, number, id, at, kind, body, previous, hash) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            *("job-1", number, f"id-{number}", "2026-01-01T00:00:00.000Z"),
            *(draft.kind, body, previous, digest),
        ),
    )
    plain.execute("UPDATE jobs SET last_number = ?, last_hash = ?", (number, digest))
    plain.execute("COMMIT")
    return digest


def test_measurements_committed_durably_one_by_one(journal, bare):
    """The two take turns, so that a slow moment of the disk hits both."""
    numbers, previous = itertools.count(2), "0" * 64
    ours_s, bare_s = [], []
    for turn in range(ROUNDS):
        drafts = [measurement(turn * APPENDS_A_ROUND + n) for n in range(APPENDS_A_ROUND)]
        begun = time.perf_counter()
        for draft in drafts:
            journal.append([draft])
        between = time.perf_counter()
        for draft in drafts:
            previous = commit_bare(bare, next(numbers), draft, previous)
        ours_s.append(between - begun)
        bare_s.append(time.perf_counter() - between)
    ratio = statistics.median(bare_s) / statistics.median(ours_s)
    each_ms = 1000 * statistics.median(ours_s) / APPENDS_A_ROUND
    print(f"\ncommitted one by one: {ratio:.2f} of bare sqlite3 (ours {each_ms:.2f} ms each)")
    (count,) = bare.execute("SELECT count(*) FROM entries").fetchone()
    assert count == len(journal.record("job-1").entries) == 1 + ROUNDS * APPENDS_A_ROUND
    assert ratio >= RATIO_LEAST


def filled(folder, measurements):
    """A data folder with so many measurements, written in bulk; the last job is a real one."""
    ids = itertools.count(1)
    plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    with Journal.open(
        folder, now=lambda: datetime.now(UTC), new_id=lambda: f"id-{next(ids)}"
    ) as journal:
        for job in range(20):
            opening = {"number": f"A {job}", "plan": plan}
            journal.append([Draft(f"job-{job}", EntryKind.JOB_OPENED, opening)])
            note = {"part_c": "20.5", "gauge_c": "20.1"}
            drafts = [Draft(f"job-{job}", EntryKind.TEMPERATURE, note)] * MEASUREMENTS_A_JOB
            journal.append(drafts)
    plain = sqlite3.connect(folder / "bench.sqlite3", isolation_level=None)
    plain.execute("PRAGMA synchronous = OFF")
    plain.execute("BEGIN")
    jobs = measurements // MEASUREMENTS_A_JOB
    # Copies of the real jobs under other names: chains that hold rows but are never opened here.
    plain.executemany(
        "INSERT INTO jobs (id, number, opened_at, plan, last_number, last_hash, key, signature) "
        "SELECT ?1, ?1, opened_at, plan, last_number, last_hash, key, signature "
        "FROM jobs WHERE id = 'job-0'",
        ((f"copy-{n}",) for n in range(jobs)),
    )
    plain.executemany(
        "INSERT INTO entries (job, number, id, at, kind, body, previous, hash) "
        "SELECT ?1, number, ?1 || '-' || number, at, kind, "
        "CASE number WHEN 1 THEN '{}' ELSE body END, previous, hash "
        "FROM entries WHERE job = 'job-0' AND number > 1",
        ((f"copy-{n}",) for n in range(jobs)),
    )
    plain.execute(
        "INSERT INTO job_words (word, ordinal) SELECT job_words.word, copy.ordinal FROM job_words "
        "JOIN jobs ON jobs.ordinal = job_words.ordinal AND jobs.id = 'job-0' "
        "JOIN jobs AS copy ON copy.id LIKE 'copy-%'"
    )
    plain.execute(
        "UPDATE jobs SET last_cursor = (SELECT max(cursor) FROM entries WHERE job = jobs.id)"
    )
    plain.execute("COMMIT")
    plain.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    plain.close()
    signer = Signer.in_folder(folder)
    database = database_of(folder, None, Access.WRITE)
    with contextlib.closing(database), database.writing() as connection:
        sign_count(connection, signer, 20 + jobs)


def is_counted(folder):
    """It can be written into, and what is written is one more job and what the outbox is told."""
    plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    opening = Draft("one-more", EntryKind.JOB_OPENED, {"number": "A 21", "plan": plan})
    with Journal.open(folder, now=lambda: datetime.now(UTC), new_id=lambda: "one-more") as journal:
        (last,) = journal.jobs(limit=1)
        journal.append([opening])
        (event,) = journal.events(last.cursor, 100)
        assert event.entry.job == "one-more"


@pytest.mark.timeout(7200)
def test_a_job_opens_as_fast_among_many(tmp_path):
    folders = {SMALL: tmp_path / "small", LARGE: tmp_path / "large"}
    for measurements, folder in folders.items():
        filled(folder, measurements)
    for folder in folders.values():
        is_counted(folder)
    took_s = {SMALL: [], LARGE: []}
    for opening in range(OPENINGS):
        for measurements, folder in folders.items():
            with Records.open_to_read(folder) as records:
                records.jobs(limit=1)
                begun = time.perf_counter()
                record = records.record(records.find(f"A {opening % 20}"))
                took_s[measurements].append(time.perf_counter() - begun)
            assert len(record.entries) == 1 + MEASUREMENTS_A_JOB
    p99_s = {size: statistics.quantiles(took, n=100)[98] for size, took in took_s.items()}
    ratio = p99_s[LARGE] / p99_s[SMALL]
    print(
        f"\nopen a job: p99 {1000 * p99_s[LARGE]:.1f} ms among {LARGE} measurements, "
        f"{1000 * p99_s[SMALL]:.1f} ms among {SMALL}: ratio {ratio:.2f}"
    )
    assert ratio <= OPENING_RATIO_MOST

"""The tables of the journal as SQLAlchemy Core sees them; `migrations` makes them."""

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData()
# SQLite counts up a column only where it is called INTEGER, which holds 64 bits there.
_COUNTED = BigInteger().with_variant(Integer, "sqlite")

# One row a job: what finds it, and where its chain ends, signed with `key`. All but the signature
# follows from the entries; it is here so that opening a job costs the same however many there
# are. `ordinal` orders jobs: 1, 2, 3 … without a gap, and so does `cursor` entries.
jobs = Table(
    "jobs",
    metadata,
    Column("ordinal", _COUNTED, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("number", Text, nullable=False, index=True),
    Column("opened_at", Text, nullable=False),
    Column("plan", Text, nullable=False),
    Column("last_number", Integer, nullable=False),
    Column("last_hash", Text, nullable=False),
    Column("last_cursor", _COUNTED, nullable=False, server_default="0"),
    Column("key", Text),
    Column("signature", Text),
    Column("customer", Text),
    Column("signed_at", Text),
    sqlite_autoincrement=True,
)
# The few that are open, among all that ever were.
Index(
    "ix_jobs_open",
    jobs.c.ordinal,
    sqlite_where=jobs.c.signed_at.is_(None),
    postgresql_where=jobs.c.signed_at.is_(None),
)

# The words a job is found by, each in lower case, so that the beginning of a word finds it.
job_words = Table(
    "job_words",
    metadata,
    Column("word", Text().with_variant(Text(collation="C"), "postgresql"), primary_key=True),
    Column("ordinal", _COUNTED, primary_key=True, autoincrement=False),
    Index("ix_job_words_ordinal", "ordinal", "word"),
)

# Append-only, held so by triggers. `cursor` is the order of writing over all jobs and is never
# given out twice. `body` is canonical JSON, the very text under the hash.
entries = Table(
    "entries",
    metadata,
    Column("cursor", _COUNTED, primary_key=True, autoincrement=True),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("id", Text, nullable=False, unique=True),
    Column("at", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("previous", Text, nullable=False),
    Column("hash", Text, nullable=False),
    UniqueConstraint("job", "number", name="entries_once_a_number"),
    sqlite_autoincrement=True,
)

traces = Table(
    "traces",
    metadata,
    Column("sha256", Text, primary_key=True),
    Column("packed", LargeBinary, nullable=False),
)

receipts = Table(
    "receipts",
    metadata,
    Column("key", Text, primary_key=True),
    Column("body_hash", Text, nullable=False),
    Column("status", Integer, nullable=False),
    Column("answer", Text, nullable=False),
    Column("job", Text, nullable=False),
    Column("entries", Text, nullable=False),
    Column("seal", Text, nullable=False, server_default=""),
)

plans = Table(
    "plans",
    metadata,
    Column("name", Text, primary_key=True),
    Column("body", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("seal", Text, nullable=False, server_default=""),
)

# One row: how many jobs there ever were, signed, so that a whole job cannot go unseen.
counts = Table(
    "counts",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("jobs", _COUNTED, nullable=False),
    Column("key", Text, nullable=False),
    Column("signature", Text, nullable=False),
)

# What is left of a job that was removed: where its chain ended, what went with it, and why.
tombstones = Table(
    "tombstones",
    metadata,
    Column("job", Text, primary_key=True),
    Column("number", Text, nullable=False),
    Column("ordinal", _COUNTED, nullable=False),
    Column("entries", Integer, nullable=False),
    Column("hash", Text, nullable=False),
    Column("cursors", Text, nullable=False),
    Column("traces", Text, nullable=False),
    Column("removed_at", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("signature", Text, nullable=False),
)

# How far each receiver was told; `off` says why one is told nothing more. The entries themselves
# are what is to be told, so nothing is written twice.
destinations = Table(
    "destinations",
    metadata,
    Column("name", Text, primary_key=True),
    Column("cursor", _COUNTED, nullable=False),
    Column("off", Text, nullable=False),
)

"""The tables of the journal as SQLAlchemy Core sees them; `migrations` makes them."""

from sqlalchemy import (
    Column,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData()

# One row a job: what finds it, and where its chain ends. All of it follows from the entries; it
# is here so that opening a job costs the same however many there are. `ordinal` orders jobs.
jobs = Table(
    "jobs",
    metadata,
    Column("ordinal", Integer, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("number", Text, nullable=False, index=True),
    Column("opened_at", Text, nullable=False),
    Column("plan", Text, nullable=False),
    Column("last_number", Integer, nullable=False),
    Column("last_hash", Text, nullable=False),
    sqlite_autoincrement=True,
)

# Append-only, held so by triggers. `cursor` is the order of writing over all jobs and is never
# given out twice. `body` is canonical JSON, the very text under the hash.
entries = Table(
    "entries",
    metadata,
    Column("cursor", Integer, primary_key=True, autoincrement=True),
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
)

plans = Table(
    "plans",
    metadata,
    Column("name", Text, primary_key=True),
    Column("body", Text, nullable=False),
    Column("at", Text, nullable=False),
)

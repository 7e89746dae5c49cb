"""The first tables: jobs, entries, traces, receipts, plans; entries and traces append-only."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

# "bTly" in ASCII, in the header of the file, or as the comment of a table on a server: tells our
# databases from those of other programs.
APPLICATION_ID = 0x62546C79
COUNTED = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Make the tables, and the triggers that refuse to change or remove what was written."""
    _jobs_and_entries()
    op.create_table(
        "traces",
        sa.Column("sha256", sa.Text, primary_key=True),
        sa.Column("packed", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "receipts",
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("body_hash", sa.Text, nullable=False),
        sa.Column("status", sa.Integer, nullable=False),
        sa.Column("answer", sa.Text, nullable=False),
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("entries", sa.Text, nullable=False),
    )
    op.create_table(
        "plans",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
    )
    if op.get_context().dialect.name == "postgresql":
        _guard_on_a_server()
    else:
        _guard_in_a_file()


def _guard_in_a_file() -> None:
    for table in ("entries", "traces"):
        for act in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} are append-only'); END"
            )
    op.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def _guard_on_a_server() -> None:
    op.execute(
        "CREATE FUNCTION append_only() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '% are append-only', TG_TABLE_NAME; END $$"
    )
    for table in ("entries", "traces"):
        op.execute(
            f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION append_only()"
        )
    op.execute(f"COMMENT ON TABLE alembic_version IS '{APPLICATION_ID}'")


def _jobs_and_entries() -> None:
    op.create_table(
        "jobs",
        sa.Column("ordinal", COUNTED, primary_key=True, autoincrement=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("number", sa.Text, nullable=False),
        sa.Column("opened_at", sa.Text, nullable=False),
        sa.Column("plan", sa.Text, nullable=False),
        sa.Column("last_number", sa.Integer, nullable=False),
        sa.Column("last_hash", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_jobs_number", "jobs", ["number"])
    op.create_table(
        "entries",
        sa.Column("cursor", COUNTED, primary_key=True, autoincrement=True),
        sa.Column("job", sa.Text, sa.ForeignKey("jobs.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("previous", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.UniqueConstraint("job", "number", name="entries_once_a_number"),
        sqlite_autoincrement=True,
    )

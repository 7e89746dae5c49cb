"""Signed ends of the chains, tombstones of what was removed, and how far each receiver is.

What stands in the tables already gets its new columns from what is there; the signatures come
when a bench opens the database, because the key lies beside it.
"""

import hashlib
import json

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

COUNTED = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Add the columns and tables, and let an entry go only where a tombstone stands for it."""
    op.add_column("jobs", sa.Column("last_cursor", COUNTED, nullable=False, server_default="0"))
    op.add_column("jobs", sa.Column("key", sa.Text))
    op.add_column("jobs", sa.Column("signature", sa.Text))
    op.execute(
        "UPDATE jobs SET last_cursor = "
        "coalesce((SELECT max(cursor) FROM entries WHERE entries.job = jobs.id), 0)"
    )
    for table, columns in (
        ("receipts", ("key", "body_hash", "status", "answer", "job", "entries")),
        ("plans", ("name", "body", "at")),
    ):
        op.add_column(table, sa.Column("seal", sa.Text, nullable=False, server_default=""))
        _seal_rows(table, columns)
    op.create_table(
        "counts",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("jobs", COUNTED, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("signature", sa.Text, nullable=False),
    )
    op.create_table(
        "destinations",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("cursor", COUNTED, nullable=False),
        sa.Column("off", sa.Text, nullable=False),
    )
    _tombstones()
    if op.get_context().dialect.name == "postgresql":
        _guard_on_a_server()
    else:
        _guard_in_a_file()


def _seal_rows(table: str, columns: tuple[str, ...]) -> None:
    rows = op.get_bind().execute(sa.text(f"SELECT {', '.join(columns)} FROM {table}")).all()  # noqa: S608
    for row in rows:
        spelt = json.dumps(list(row), separators=(",", ":"), ensure_ascii=False)
        op.get_bind().execute(
            sa.text(f"UPDATE {table} SET seal = :seal WHERE {columns[0]} = :named"),  # noqa: S608
            {"seal": hashlib.sha256(spelt.encode()).hexdigest(), "named": row[0]},
        )


def _tombstones() -> None:
    op.create_table(
        "tombstones",
        sa.Column("job", sa.Text, primary_key=True),
        sa.Column("number", sa.Text, nullable=False),
        sa.Column("ordinal", COUNTED, nullable=False),
        sa.Column("entries", sa.Integer, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("cursors", sa.Text, nullable=False),
        sa.Column("traces", sa.Text, nullable=False),
        sa.Column("removed_at", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("signature", sa.Text, nullable=False),
    )


# An entry, and a trace, may go where a tombstone names its job or its hash; nothing else may.
_GONE = {
    "entries": "EXISTS (SELECT 1 FROM tombstones WHERE job = OLD.job)",
    "traces": "EXISTS (SELECT 1 FROM tombstones WHERE traces LIKE '%' || OLD.sha256 || '%')",
}


def _guard_in_a_file() -> None:
    for table, gone in _GONE.items():
        op.execute(f"DROP TRIGGER {table}_no_delete")
        op.execute(
            f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} WHEN NOT {gone} "
            f"BEGIN SELECT RAISE(ABORT, '{table} are append-only'); END"
        )
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER tombstones_no_{act.lower()} BEFORE {act} ON tombstones "
            "BEGIN SELECT RAISE(ABORT, 'tombstones are append-only'); END"
        )


def _guard_on_a_server() -> None:
    for table, gone in _GONE.items():
        op.execute(f"DROP TRIGGER {table}_append_only ON {table}")
        op.execute(
            f"CREATE FUNCTION {table}_stay() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN IF NOT {gone} THEN RAISE EXCEPTION '{table} are append-only'; END IF; "
            "RETURN OLD; END $$"
        )
        op.execute(
            f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION {table}_stay()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION append_only()"
        )
    op.execute(
        "CREATE TRIGGER tombstones_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON tombstones "
        "FOR EACH STATEMENT EXECUTE FUNCTION append_only()"
    )

"""What jobs are found by: their words, their customer, and when they were closed."""

import json
import re

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

COUNTED = sa.BigInteger().with_variant(sa.Integer, "sqlite")
WORD = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
ROWS_AT_ONCE = 1000


def upgrade() -> None:
    """Add the columns and the words, filled from what the entries say."""
    op.add_column("jobs", sa.Column("customer", sa.Text))
    op.add_column("jobs", sa.Column("signed_at", sa.Text))
    op.create_table(
        "job_words",
        sa.Column("word", WORD, primary_key=True),
        sa.Column("ordinal", COUNTED, primary_key=True, autoincrement=False),
    )
    op.execute(
        "UPDATE jobs SET signed_at = (SELECT max(at) FROM entries "
        "WHERE entries.job = jobs.id AND entries.kind = 'job.signed')"
    )
    openings = op.get_bind().execute(
        sa.text(
            "SELECT jobs.ordinal, entries.body FROM jobs JOIN entries ON entries.job = jobs.id "
            "WHERE entries.number = 1 ORDER BY jobs.ordinal"
        )
    )
    while rows := openings.fetchmany(ROWS_AT_ONCE):
        _fill([(ordinal, _opening(body)) for ordinal, body in rows])
    op.create_index("ix_job_words_ordinal", "job_words", ["ordinal", "word"])
    is_open = sa.text("signed_at IS NULL")
    op.create_index(
        "ix_jobs_open", "jobs", ["ordinal"], sqlite_where=is_open, postgresql_where=is_open
    )


def _opening(body: str) -> dict[str, object]:
    """What an entry says; nothing where it was altered, which `verify` will say."""
    try:
        found = json.loads(body)
    except (ValueError, TypeError):
        return {}
    return found if isinstance(found, dict) else {}


def _fill(openings: list[tuple[int, dict[str, object]]]) -> None:
    customers, words = [], []
    for ordinal, opening in openings:
        if isinstance(opening.get("customer"), str):
            customers.append({"customer": opening["customer"], "of": ordinal})
        words += [{"word": word, "of": ordinal} for word in _words(opening)]
    if customers:
        told = sa.text("UPDATE jobs SET customer = :customer WHERE ordinal = :of")
        op.get_bind().execute(told, customers)
    if words:
        put = sa.text("INSERT INTO job_words (word, ordinal) VALUES (:word, :of)")
        op.get_bind().execute(put, words)


def _words(opening: dict[str, object]) -> list[str]:
    """As `records.finding` finds them at this revision."""
    plan = opening.get("plan")
    name = plan.get("name") if isinstance(plan, dict) else None
    said = [*(opening.get(key) for key in ("number", "customer", "head_serial")), name]
    texts = [text.casefold() for text in said if isinstance(text, str)]
    found = (word for text in texts for word in re.findall(r"\w+", text))
    return list(dict.fromkeys(word[:64] for word in found))[:40]

"""The first tables: benches, events, and the view of what is whole.

They were made without a version at first; where they are there they are taken over as they are.
"""

from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make them where they are not there."""
    op.execute(
        "CREATE TABLE IF NOT EXISTS benches (source text PRIMARY KEY, whole_to bigint NOT NULL, "
        "last_seen bigint NOT NULL, state text NOT NULL DEFAULT '', state_at timestamptz)"
    )
    op.execute(
        "CREATE TABLE IF NOT EXISTS events (source text NOT NULL, cursor bigint NOT NULL, "
        "id text NOT NULL, type text NOT NULL, job text NOT NULL, time text NOT NULL, "
        "body json NOT NULL, collected_at timestamptz NOT NULL DEFAULT now(), "
        "PRIMARY KEY (source, cursor))"
    )
    op.execute("CREATE INDEX IF NOT EXISTS events_of_a_job ON events (job, source, cursor)")
    op.execute(
        "CREATE OR REPLACE VIEW in_order AS SELECT events.* FROM events "
        "JOIN benches USING (source) WHERE events.cursor <= whole_to"
    )

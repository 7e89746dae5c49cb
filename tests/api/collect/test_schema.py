"""The collector's tables: made by migrations, taken over with what is in them, never downgraded."""

import uuid
from importlib import resources

import psycopg
import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from typer.testing import CliRunner

from api.cli import app
from api.collect.schema import REVISIONS, VERSION_TABLE, bring_up_to_date
from daq.records.errors import SchemaError

# As the collector made them before its tables had a version.
BEFORE = """
CREATE TABLE benches (
    source text PRIMARY KEY, whole_to bigint NOT NULL, last_seen bigint NOT NULL,
    state text NOT NULL DEFAULT '', state_at timestamptz
);
CREATE TABLE events (
    source text NOT NULL, cursor bigint NOT NULL, id text NOT NULL, type text NOT NULL,
    job text NOT NULL, time text NOT NULL, body json NOT NULL,
    collected_at timestamptz NOT NULL DEFAULT now(), PRIMARY KEY (source, cursor)
);
CREATE INDEX events_of_a_job ON events (job, source, cursor);
CREATE VIEW in_order AS
    SELECT events.* FROM events JOIN benches USING (source) WHERE events.cursor <= whole_to;
INSERT INTO benches (source, whole_to, last_seen) VALUES ('urn:x-bench:b', 1, 2);
INSERT INTO events (source, cursor, id, type, job, time, body) VALUES
    ('urn:x-bench:b', 1, 'id-1', 't', 'job-1', '2026', '{}'),
    ('urn:x-bench:b', 3, 'id-3', 't', 'job-1', '2026', '{}');
"""


@pytest.fixture
def url(postgres):
    return postgres.database(f"c{uuid.uuid4().hex}")


def rows(url, query):
    with psycopg.connect(url) as connection:
        return connection.execute(query).fetchall()


def columns(url):
    found = "SELECT relname, attname, format_type(atttypid, atttypmod), attnotnull FROM pg_class "
    found += "JOIN pg_attribute ON attrelid = pg_class.oid WHERE attnum > 0 "
    return rows(url, f"{found} AND relnamespace = current_schema()::regnamespace ORDER BY 1, 2")


def test_the_list_of_revisions_is_that_of_the_migrations():
    config = Config()
    config.set_main_option("script_location", str(resources.files("api.collect") / "migrations"))
    newest_first = ScriptDirectory.from_config(config).walk_revisions()
    assert [script.revision for script in newest_first] == list(reversed(REVISIONS))


def test_tables_from_before_are_taken_over_and_are_what_is_made_anew(url, postgres):
    with psycopg.connect(url) as connection:
        connection.execute(BEFORE)
    bring_up_to_date(url)
    assert rows(url, "SELECT id FROM in_order") == [("id-1",)]
    assert rows(url, "SELECT count(*) FROM events") == [(2,)]
    assert rows(url, f"SELECT version_num FROM {VERSION_TABLE}") == [(REVISIONS[-1],)]
    anew = postgres.database(f"c{uuid.uuid4().hex}")
    bring_up_to_date(anew)
    assert columns(anew) == columns(url)


def test_what_is_up_to_date_is_left_alone_while_somebody_reads(url):
    bring_up_to_date(url)
    with psycopg.connect(url) as reader:
        reader.execute("SELECT * FROM in_order")  # holds the view until its transaction ends
        bring_up_to_date(url)


def test_tables_of_a_newer_version_are_refused_with_a_sentence(url):
    bring_up_to_date(url)
    with psycopg.connect(url) as connection:
        connection.execute(f"UPDATE {VERSION_TABLE} SET version_num = '9999'")
    with pytest.raises(SchemaError, match=r"newer version of benchtally collect.*9999"):
        bring_up_to_date(url)
    command = ["collect", "--database", url, "--broker", "mqtt://127.0.0.1:1"]
    said = CliRunner().invoke(app, command)
    assert said.exit_code == 1
    assert "newer version of benchtally collect" in said.stderr


def test_a_server_that_is_not_there_is_tried_again_like_any_fault_of_it():
    with pytest.raises(psycopg.OperationalError):
        bring_up_to_date("postgresql://bench@127.0.0.1:1/none")

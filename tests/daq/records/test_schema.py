"""The tables: made by migrations, the same as the code's, and never those of others."""

import sqlite3
import subprocess
import sys
from importlib import resources
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from daq.records import schema
from daq.records.database import FILE_NAME
from daq.records.errors import RecordError, SchemaError
from daq.records.migrations.versions import r0001_first
from daq.records.records import Records
from daq.records.tables import metadata

ON = ["sqlite"]  # test_server.py asks the same of a server


def test_the_migrations_make_the_tables_that_the_code_uses(journal):
    with journal._database.engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []


def test_the_list_of_revisions_is_that_of_the_migrations():
    config = Config()
    folder = resources.files("daq.records") / "migrations"
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    scripts = ScriptDirectory.from_config(config)
    newest_first = [script.revision for script in scripts.walk_revisions()]
    assert list(reversed(newest_first)) == list(schema.REVISIONS)
    assert r0001_first.APPLICATION_ID == schema.APPLICATION_ID


def test_opening_what_is_up_to_date_does_not_load_the_migrations(make, tmp_path):
    make.journal(tmp_path).close()
    code = (
        "import sys, pathlib; from daq.records.journal import Journal;"
        "Journal.open(pathlib.Path(sys.argv[1]), now=None, new_id=None).close();"
        "sys.exit('alembic' in sys.modules)"
    )
    root = Path(__file__).parents[3]
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], cwd=root, check=True)


def test_a_newer_database_is_refused_and_left_as_it_was(make, tmp_path):
    make.journal(tmp_path).close()
    plain = sqlite3.connect(tmp_path / FILE_NAME)
    plain.execute("UPDATE alembic_version SET version_num = '9999'")
    plain.commit()
    plain.close()
    before = (tmp_path / FILE_NAME).read_bytes()
    with pytest.raises(SchemaError, match=r"newer version of benchtally.*9999.*0003"):
        make.journal(tmp_path)
    with pytest.raises(SchemaError, match="newer version"):
        Records.open_to_read(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes() == before


@pytest.mark.parametrize(
    "query", ["CREATE TABLE other (x)", "CREATE TABLE alembic_version (version_num)"]
)
def test_a_database_of_another_program_is_refused(make, tmp_path, query):
    plain = sqlite3.connect(tmp_path / FILE_NAME)
    plain.execute(query)
    plain.close()
    for attempt in (make.journal, Records.open_to_read):
        with pytest.raises(SchemaError, match="another program"):
            attempt(tmp_path)
    plain = sqlite3.connect(tmp_path / FILE_NAME)
    assert len(plain.execute("SELECT name FROM sqlite_master").fetchall()) == 1
    plain.close()


def test_a_file_that_is_no_database_is_refused_and_left_as_it_was(make, tmp_path):
    (tmp_path / FILE_NAME).write_text("notes of the shop " * 100)
    for attempt in (make.journal, Records.open_to_read):
        with pytest.raises(SchemaError, match="is no database; it was left as it is"):
            attempt(tmp_path)
    assert (tmp_path / FILE_NAME).read_text() == "notes of the shop " * 100


def test_an_empty_file_as_a_power_cut_can_leave_it_is_made_a_journal(make, tmp_path):
    (tmp_path / FILE_NAME).touch()
    with pytest.raises(SchemaError, match="holds no records yet"):
        Records.open_to_read(tmp_path)
    with make.journal(tmp_path) as journal:
        journal.append([make.opening()])


def test_a_migration_that_breaks_off_leaves_nothing_and_the_folder_free(
    make, tmp_path, monkeypatch
):
    monkeypatch.setattr(schema, "_upgrade", half_an_upgrade)
    with pytest.raises(RecordError, match="could not be used"):
        make.journal(tmp_path)
    plain = sqlite3.connect(tmp_path / FILE_NAME)
    assert plain.execute("SELECT name FROM sqlite_master").fetchall() == []
    plain.close()
    monkeypatch.undo()
    make.journal(tmp_path).close()


def half_an_upgrade(connection):
    connection.exec_driver_sql("CREATE TABLE jobs (id)")
    connection.exec_driver_sql("CREATE nonsense")


def test_a_folder_with_a_percent_sign_and_a_question_mark(make, tmp_path):
    with make.journal(tmp_path / "50 % done? #1") as journal:
        journal.append([make.opening()])
    assert (tmp_path / "50 % done? #1" / FILE_NAME).is_file()

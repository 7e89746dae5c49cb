"""The collector's tables, made and brought up to date by migrations of their own."""

from importlib import resources

import psycopg
from sqlalchemy import Connection, NullPool, create_engine, text
from sqlalchemy.exc import DBAPIError

from daq.records.errors import SchemaError

# The revisions of migrations/versions, oldest first.
REVISIONS = ("0001",)
VERSION_TABLE = "collect_version"
# One collector after the other makes the tables: "bTly" and one more.
_MAKING = 0x62546C7A


def bring_up_to_date(url: str) -> None:
    """Make or upgrade the tables at `url`; changes nothing where they are up to date.

    Raises SchemaError for tables of a newer version, psycopg.Error.
    """
    engine = create_engine(
        "postgresql+psycopg://",
        creator=lambda: psycopg.connect(url, connect_timeout=5),
        poolclass=NullPool,
    )
    try:
        with engine.begin() as connection:
            connection.execute(text(f"SELECT pg_advisory_xact_lock({_MAKING})"))
            if _revision(connection) != REVISIONS[-1]:
                _upgrade(connection)
    except DBAPIError as error:
        if isinstance(error.orig, psycopg.Error):
            raise error.orig from None
        raise
    finally:
        engine.dispose()


def _revision(connection: Connection) -> str | None:
    there = connection.execute(text("SELECT to_regclass(:named)"), {"named": VERSION_TABLE})
    if there.scalar() is None:
        return None
    revision = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()  # noqa: S608
    if revision not in REVISIONS:
        raise SchemaError(
            f"The database was written by a newer version of benchtally collect (its tables are at "
            f"{revision}, this version knows up to {REVISIONS[-1]}); nothing in it was changed. "
            "Install that version or a newer one."
        )
    return str(revision)


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    with resources.as_file(resources.files("api.collect") / "migrations") as scripts:
        config = Config()
        config.set_main_option("script_location", str(scripts).replace("%", "%%"))
        config.attributes["connection"] = connection
        config.attributes["version_table"] = VERSION_TABLE
        command.upgrade(config, "head")

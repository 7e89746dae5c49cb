"""Which shape a database has, and bringing it up to the shape this program writes."""

from importlib import resources
from pathlib import Path

from sqlalchemy import Connection, text

from daq.records.errors import SchemaError

# The revisions of migrations/versions, oldest first. Listed here so that opening a database that
# is up to date need not load Alembic.
REVISIONS = ("0001",)
# Stands in the file's header from the first revision on.
APPLICATION_ID = 0x62546C79


def bring_up_to_date(connection: Connection, file: Path) -> None:
    """Make or upgrade the tables, in the transaction of `connection`.

    Raises SchemaError for a database of another program or of a newer version of this one; it is
    left as it was.
    """
    if _revision(connection, file) != REVISIONS[-1]:
        _upgrade(connection)


def check_up_to_date(connection: Connection, file: Path) -> None:
    """Raise SchemaError unless the database has exactly the shape this program reads."""
    revision = _revision(connection, file)
    if revision is None:
        raise SchemaError(f"{file} holds no records yet; start the bench on this folder first.")
    if revision != REVISIONS[-1]:
        raise SchemaError(
            f"{file} was written by an older version of benchtally (its tables are at "
            f"{revision}); start the bench on this folder once, which brings it up to date."
        )


def _revision(connection: Connection, file: Path) -> str | None:
    """The revision of the tables; None for a database without any."""
    names = set(connection.execute(text("SELECT name FROM sqlite_master")).scalars())
    if not names:
        return None
    mark = connection.execute(text("PRAGMA application_id")).scalar_one()
    if mark != APPLICATION_ID or "alembic_version" not in names:
        raise SchemaError(
            f"{file} is a database of another program; nothing in it was changed. "
            "Choose another data folder."
        )
    revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if revision not in REVISIONS:
        raise SchemaError(
            f"{file} was written by a newer version of benchtally (its tables are at {revision}, "
            f"this version knows up to {REVISIONS[-1]}); nothing in it was changed. Install that "
            "version or a newer one."
        )
    return str(revision)


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    with resources.as_file(resources.files("daq.records") / "migrations") as scripts:
        config = Config()
        config.set_main_option("script_location", str(scripts).replace("%", "%%"))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")

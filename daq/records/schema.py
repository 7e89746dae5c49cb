"""Which shape a database has, and bringing it up to the shape this program writes."""

from importlib import resources

from sqlalchemy import Connection, text

from daq.records.errors import SchemaError

# The revisions of migrations/versions, oldest first. Listed here so that opening a database that
# is up to date need not load Alembic.
REVISIONS = ("0001", "0002", "0003")
# Stands in the file's header, or on a server's table, from the first revision on.
APPLICATION_ID = 0x62546C79


def bring_up_to_date(connection: Connection, where: str) -> None:
    """Make or upgrade the tables, in the transaction of `connection`.

    Raises SchemaError for a database of another program or of a newer version of this one; it is
    left as it was.
    """
    if _revision(connection, where) != REVISIONS[-1]:
        _upgrade(connection)


def check_up_to_date(connection: Connection, where: str) -> None:
    """Raise SchemaError unless the database has exactly the shape this program reads."""
    revision = _revision(connection, where)
    if revision is None:
        raise SchemaError(f"{where} holds no records yet; start the bench on this folder first.")
    if revision != REVISIONS[-1]:
        raise SchemaError(
            f"{where} was written by an older version of benchtally (its tables are at "
            f"{revision}); start the bench on this folder once, which brings it up to date."
        )


def _revision(connection: Connection, where: str) -> str | None:
    """The revision of the tables; None for a database without any."""
    look = _server if connection.dialect.name == "postgresql" else _file
    names, mark = look(connection)
    if not names:
        return None
    if mark != str(APPLICATION_ID) or "alembic_version" not in names:
        raise SchemaError(
            f"{where} is a database of another program; nothing in it was changed. "
            "Choose another data folder or database."
        )
    revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if revision not in REVISIONS:
        raise SchemaError(
            f"{where} was written by a newer version of benchtally (its tables are at {revision}, "
            f"this version knows up to {REVISIONS[-1]}); nothing in it was changed. Install that "
            "version or a newer one."
        )
    return str(revision)


def _file(connection: Connection) -> tuple[set[str], str]:
    """What there is in a SQLite file, and the mark in its header."""
    names = set(connection.execute(text("SELECT name FROM sqlite_master")).scalars())
    return names, str(connection.execute(text("PRAGMA application_id")).scalar_one())


def _server(connection: Connection) -> tuple[set[str], str]:
    """What there is in the schema of a PostgreSQL database, and the mark on one of its tables."""
    of_ours = "FROM pg_class WHERE relnamespace = current_schema()::regnamespace"
    names = set(connection.execute(text(f"SELECT relname {of_ours}")).scalars())
    marks = connection.execute(
        text(f"SELECT obj_description(oid, 'pg_class') {of_ours} AND relname = 'alembic_version'")
    )
    return names, str(marks.scalar())


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    with resources.as_file(resources.files("daq.records") / "migrations") as scripts:
        config = Config()
        config.set_main_option("script_location", str(scripts).replace("%", "%%"))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")

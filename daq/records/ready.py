"""Statements compiled once. What is written for each measurement must not be composed each time:
SQLAlchemy's own way to a compiled statement costs more than SQLite needs to carry it out."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from sqlalchemy import Connection, CursorResult, Dialect
from sqlalchemy.dialects import registry
from sqlalchemy.sql import ClauseElement
from sqlalchemy.sql.compiler import SQLCompiler


class Ready:
    """A statement that runs with the values of its parameters, by name."""

    def __init__(
        self,
        statement: ClauseElement,
        columns: Sequence[str] | None = None,
        *,
        postgresql: ClauseElement | None = None,
    ) -> None:
        """columns: those that an insert or update sets; None for other statements. postgresql:
        where that database needs another spelling."""
        other = statement if postgresql is None else postgresql
        self._statements = {"sqlite": statement, "postgresql": other}
        self._columns = None if columns is None else list(columns)
        self._compiled: dict[str, tuple[str, tuple[str, ...]]] = {}

    def run(self, connection: Connection, values: Mapping[str, Any]) -> CursorResult[Any]:
        """Run it; every parameter must be in `values`."""
        name = connection.dialect.name
        found = self._compiled.get(name)
        if found is None:
            found = self._compiled[name] = self._compile(name)
        text, names = found
        return connection.exec_driver_sql(text, tuple([values[each] for each in names]))

    def _compile(self, name: str) -> tuple[str, tuple[str, ...]]:
        compiled = self._statements[name].compile(dialect=_dialect(name), column_keys=self._columns)
        return str(compiled), tuple(cast("SQLCompiler", compiled).positiontup or ())


def _dialect(name: str) -> Dialect:
    """The dialect that the engine speaks, with its driver's sign for parameters, in their order."""
    if name == "postgresql":
        found: Dialect = registry.load("postgresql.psycopg")(paramstyle="format")
    else:
        found = registry.load("sqlite")(paramstyle="qmark")
    return found

"""Statements compiled once. What is written for each measurement must not be composed each time:
SQLAlchemy's own way to a compiled statement costs more than SQLite needs to carry it out."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from sqlalchemy import Connection, CursorResult
from sqlalchemy.dialects.sqlite import dialect
from sqlalchemy.sql import ClauseElement
from sqlalchemy.sql.compiler import SQLCompiler


class Ready:
    """A statement that runs with the values of its parameters, by name."""

    def __init__(self, statement: ClauseElement, columns: Sequence[str] | None = None) -> None:
        """columns: those that an insert or update sets; None for other statements."""
        # The same dialect that the engine speaks, with ? for parameters, in their order.
        compiled = statement.compile(
            dialect=dialect(paramstyle="qmark"),
            column_keys=None if columns is None else list(columns),
        )
        self._text = str(compiled)
        self._names = tuple(cast("SQLCompiler", compiled).positiontup or ())

    def run(self, connection: Connection, values: Mapping[str, Any]) -> CursorResult[Any]:
        """Run it; every parameter must be in `values`."""
        ordered = tuple([values[name] for name in self._names])
        return connection.exec_driver_sql(self._text, ordered)

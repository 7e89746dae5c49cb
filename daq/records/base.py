"""What the journal asks of a database: transactions, troubles as sentences, and an end."""

import abc
import contextlib
from collections.abc import Iterator
from enum import Enum

from sqlalchemy import Connection, Engine


class Access(Enum):
    """What a connection is for. BESIDE: writes beside the bench what may be lost in a power cut;
    its commits wait for no disk and hold nobody up."""

    READ = "read"
    WRITE = "write"
    BESIDE = "beside"


class Database(abc.ABC):
    """A database that holds, or will hold, the journal's tables.

    where: how sentences name it, without a password. Every transaction of the program begins
    here, and whatever goes wrong in one leaves it as a RecordError with a sentence.
    """

    # Whether a commit that failed may yet have come about: over a network the answer can be lost.
    commits_far_away = False

    def __init__(self, engine: Engine, where: str) -> None:
        self.engine = engine
        self.where = where

    @abc.abstractmethod
    def sentences(self) -> contextlib.AbstractContextManager[None]:
        """Turn what the database and the system say into a RecordError with a sentence."""

    @abc.abstractmethod
    def damage(self, connection: Connection) -> list[str]:
        """What the database itself finds wrong with its storage; empty for a sound one."""

    @abc.abstractmethod
    def begin_reading(self, connection: Connection) -> None:
        """Begin a transaction that sees one moment."""

    @abc.abstractmethod
    def begin_writing(self, connection: Connection) -> None:
        """Begin a transaction that writes."""

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees the database as it is at its first query, until its end."""
        with self.sentences(), self.engine.connect() as connection:
            self.begin_reading(connection)
            yield connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is durable when the block has ended, and undone when it raised."""
        with self.sentences(), self.engine.begin() as connection:
            self.begin_writing(connection)
            yield connection

    def close(self) -> None:
        """Let it go."""
        self.engine.dispose()

"""A ready statement does what SQLAlchemy does with the same statement."""

import pytest
from sqlalchemy import bindparam, create_engine, insert, select, update

from daq.records.ready import Ready
from daq.records.tables import metadata, plans


@pytest.fixture
def connection():
    engine = create_engine("sqlite://")
    metadata.create_all(engine)
    with engine.connect() as connection:
        yield connection
    engine.dispose()


def test_values_go_where_their_names_say(connection):
    put = Ready(insert(plans), ["at", "name", "body"])
    put.run(connection, {"name": "a name", "body": "a body", "at": "a time"})
    move = Ready(update(plans).where(plans.c.name == bindparam("which")), ["body"])
    assert move.run(connection, {"body": "another", "which": "a name"}).rowcount == 1
    assert move.run(connection, {"body": "no", "which": "no such"}).rowcount == 0
    get = Ready(select(plans.c.at, plans.c.body).where(plans.c.name == bindparam("which")))
    assert get.run(connection, {"which": "a name"}).one() == ("a time", "another")


def test_a_value_that_is_missing_is_an_error_not_null(connection):
    with pytest.raises(KeyError):
        Ready(insert(plans), ["name", "body", "at"]).run(connection, {"name": "a", "at": "b"})

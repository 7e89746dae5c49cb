"""A job of the whole invented plan, keyed in by hand."""

import pytest

from daq.head.plan import shipped_plans
from tests.generators.books import Book
from tests.generators.healthy import healthy


@pytest.fixture(scope="session")
def plan():
    return shipped_plans()["four-by-two-whole"]


@pytest.fixture
def book(plan):
    return Book(plan)


@pytest.fixture
def measured(plan):
    """A book in which everything is measured; `changed` as in `healthy`."""

    def make(changed=None):
        made = Book(plan)
        made.key_all(healthy(plan, changed))
        return made

    return make

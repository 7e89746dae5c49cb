"""Requests made by chance from the OpenAPI document: no 5xx, and no answer against the schema.

Here a few; `SCHEMATHESIS_CASES=240 python -m pytest -n 0 -s tests/api/test_schemathesis.py` makes
twenty thousand and more, and says how many.
"""

import contextlib
import os
import threading
import time

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.access import Doors
from api.build import build
from api.config import load_config
from api.serve import listening, server_for
from api.tokens import Scope, Tokens
from daq.records.journal import Journal
from tests.api.conftest import CONFIG, counted_ids, counted_time

CASES = int(os.environ.get("SCHEMATHESIS_CASES", "5"))  # for each operation
CHECKS = [content_type_conformance, response_schema_conformance, status_code_conformance]
HOST = "bench-1.shop"
MADE = settings(
    max_examples=CASES,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
SERVER_ERROR = 500
pytestmark = pytest.mark.timeout(600 + 30 * CASES)


@contextlib.contextmanager
def serving(folder, doors):
    """A real bench on a real port, until the block is left: its address."""
    (folder / "bench.toml").write_text(CONFIG.format(folder=folder))
    loaded = load_config(folder / "bench.toml")
    journal = Journal.open(loaded.data, now=counted_time(), new_id=counted_ids())
    with contextlib.closing(journal), contextlib.closing(listening(loaded.address)) as port:
        service = build(loaded, journal)
        service.doors = doors
        server = server_for(service)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [port]})
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield f"http://127.0.0.1:{port.getsockname()[1]}"
        server.should_exit = True
        thread.join()


@pytest.fixture(scope="module")
def at_the_bench(tmp_path_factory):
    with serving(tmp_path_factory.mktemp("open"), Doors()) as address:
        yield schemathesis.openapi.from_url(f"{address}/openapi.json")


@pytest.fixture(scope="module")
def token(tmp_path_factory):
    tokens = Tokens(tmp_path_factory.mktemp("tokens"))
    return tokens, tokens.add("all of it", list(Scope), "2026-11-25")


@pytest.fixture(scope="module")
def from_elsewhere(tmp_path_factory, token):
    # Behind a proxy nobody is let in for coming from this machine.
    doors = Doors(tokens=token[0], hosts=frozenset({HOST}), proxied=True)
    with serving(tmp_path_factory.mktemp("guarded"), doors) as address:
        headers = {"host": HOST, "authorization": f"Bearer {token[1]}"}
        yield schemathesis.openapi.from_url(f"{address}/openapi.json", headers=headers)


def every_operation(schema, check):
    """Ask each operation so many times; gives how many cases there were."""
    cases = 0
    for found in schema.get_all_operations():
        operation = found.ok()

        @MADE
        @given(case=operation.as_strategy())
        def ask(case):
            nonlocal cases
            cases += 1
            check(case)

        ask()
    return cases


def keeps_to_the_schema(case, **options):
    answer = case.call(**options)
    assert answer.status_code < SERVER_ERROR, (case.method, case.path, answer.text)
    case.validate_response(answer, checks=CHECKS)
    return answer


def test_at_the_bench(at_the_bench):
    cases = every_operation(at_the_bench, keeps_to_the_schema)
    print(f"{cases} cases at the bench")
    assert cases > 20 * CASES


def test_with_a_token(from_elsewhere, token):
    headers = {"host": HOST, "authorization": f"Bearer {token[1]}"}
    cases = every_operation(from_elsewhere, lambda case: keeps_to_the_schema(case, headers=headers))
    print(f"{cases} cases with a token")
    assert cases > 20 * CASES


def test_without_a_token(from_elsewhere):
    def check(case):
        headers = {"host": HOST, "authorization": "Bearer none"}
        answer = keeps_to_the_schema(case, headers=headers)
        assert answer.status_code in {401, 403} or case.path == "/api/v1/session"

    cases = every_operation(from_elsewhere, check)
    print(f"{cases} cases without a token")
    assert cases > 20 * CASES

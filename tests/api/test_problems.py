"""Every error is problem details (RFC 9457) with a sentence; nothing rejected is sent back."""

import json

import pytest

from api.rest.body import BODY_BYTES_MAX

JSON = {"content-type": "application/json"}


def assert_problem(answer, status):
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    body = answer.json()
    assert body["status"] == status
    assert body["title"]
    assert body["type"] == "about:blank"
    assert len(body["detail"]) > 10
    return body


async def test_a_path_that_is_not_there(client):
    assert (
        "nothing at '/api/v1/nope'"
        in assert_problem(await client.get("/api/v1/nope"), 404)["detail"]
    )
    assert_problem(await client.get("/nope.html"), 404)


async def test_a_method_that_is_not_there(client):
    answer = await client.delete("/api/v1/jobs")
    assert "DELETE is not possible" in assert_problem(answer, 405)["detail"]
    assert "GET" in answer.headers["allow"]


@pytest.mark.parametrize(
    ("body", "status", "said"),
    [
        (b"", 422, "is missing"),
        (b"{", 400, "is not JSON"),
        (b'{"number": "J", "number": "K", "plan": "four-by-two"}', 400, "'number' stands twice"),
        (b"[" * 60_000, 400, "nested too deeply"),
        (b'{"number": "\\ud800", "plan": "four-by-two"}', 400, "UTF-8"),
        (b'{"number": "\xff", "plan": "four-by-two"}', 400, "UTF-8"),
        (b"[]", 422, "JSON object"),
        (b'"J-1"', 422, "JSON object"),
        (b"NaN", 422, "JSON object"),
        (b"null", 422, "JSON object"),
        (b"1.5", 422, "JSON object"),
        (b'{"number": NaN, "plan": "four-by-two"}', 422, "number should be"),
        (b'{"number": 1e400, "plan": "four-by-two"}', 422, "number should be"),
        (b'{"number": "J", "plan": "four-by-two", "clr": 1}', 422, "clr is not a key"),
        (b'{"number": "J"}', 422, "plan is missing"),
        (b'{"number": "", "plan": "four-by-two"}', 422, "number should"),
        (b'{"number": "a\\nb", "plan": "four-by-two"}', 422, "number should"),
        (b'{"number": "J\\u0000", "plan": "four-by-two"}', 422, "number should"),
        (b'{"number": "' + b"9" * 100 + b'", "plan": "four-by-two"}', 422, "number should"),
        (b'{"number": ' + b"9" * 5000 + b', "plan": "four-by-two"}', 422, "number should"),
    ],
)
async def test_bodies_that_are_none(client, body, status, said):
    answer = await client.post("/api/v1/jobs", content=body, headers=JSON)
    assert said in assert_problem(answer, status)["detail"]
    assert len(answer.content) < 1500
    assert (await client.get("/api/v1/jobs")).json() == {"jobs": [], "next": None}


async def test_the_fault_is_pointed_at(client):
    answer = await client.post("/api/v1/jobs", json={"number": "J"})
    assert assert_problem(answer, 422)["errors"] == [
        {"where": "/plan", "text": "plan is missing and has to be given"}
    ]


async def test_a_body_that_is_too_long_is_cut_off(client):
    body = json.dumps({"number": "J", "plan": "four-by-two", "complaint": "x" * BODY_BYTES_MAX})
    assert (
        "larger than 65536"
        in assert_problem(await client.post("/api/v1/jobs", content=body, headers=JSON), 413)[
            "detail"
        ]
    )

    async def parts():
        for _ in range(100):
            yield b" " * 1024

    assert_problem(await client.post("/api/v1/jobs", content=parts(), headers=JSON), 413)


async def test_what_is_not_sent_as_json_is_not_taken(client):
    # A page from elsewhere can post text/plain without asking; JSON it cannot.
    answer = await client.post(
        "/api/v1/jobs",
        content=b'{"number": "J", "plan": "four-by-two"}',
        headers={"content-type": "text/plain"},
    )
    assert "sent as application/json" in assert_problem(answer, 422)["detail"]


@pytest.mark.parametrize("query", ["after=-1", "after=x", "after=99999999999999999999", "limit=0"])
async def test_cursors_that_are_none(client, query):
    assert_problem(await client.get(f"/api/v1/events?{query}"), 422)


@pytest.mark.parametrize("host", ["bench.example", "192.168.1.5:8620", "127.0.0.1.example", ""])
async def test_only_this_machine_is_answered(client, host):
    answer = await client.get("/api/v1/health", headers={"host": host})
    assert "on this machine only" in assert_problem(answer, 403)["detail"]


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1:9", "[::1]:8620", "LOCALHOST:8620"])
async def test_names_of_this_machine_are_answered(client, host):
    assert (await client.get("/api/v1/health", headers={"host": host})).status_code == 200


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", "http://127.0.0.1:9999"])
async def test_pages_from_elsewhere_are_turned_away(client, origin):
    answer = await client.post(
        "/api/v1/jobs", json={"number": "J", "plan": "four-by-two"}, headers={"origin": origin}
    )
    assert "page from elsewhere" in assert_problem(answer, 403)["detail"]
    mine = await client.get("/api/v1/jobs", headers={"origin": "http://127.0.0.1:8620"})
    assert mine.json() == {"jobs": [], "next": None}


async def test_a_fault_of_ours_is_said_without_a_traceback(client, service, monkeypatch):
    monkeypatch.setattr(service.run, "progress", lambda: 1 / 0)
    answer = await client.get("/api/v1/bench")
    assert "fault of the program" in assert_problem(answer, 500)["detail"]
    assert "ZeroDivision" not in answer.text


async def test_the_page_may_load_nothing_from_elsewhere(client):
    page = await client.get("/")
    assert page.status_code == 200
    policy = page.headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "<script>" not in page.text

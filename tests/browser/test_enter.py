"""Coming in with a token: on to the page that was asked for, and never to anybody else's."""

import pytest

from api.tokens import Scope, Tokens
from tests.browser.pages import expect

ACCESS = """
[access]
hosts = ["127.0.0.1"]
behind_proxy = true
"""
# Each would lead away from the bench, or round in a circle.
ELSEWHERE = [
    "https://192.0.2.7/jobs.html",
    "//192.0.2.7/jobs.html",
    "/%5C192.0.2.7/jobs.html",
    "https:192.0.2.7",
    "javascript:alert(1)",
    "data:text/html,x",
    "http://[",
    "/enter.html",
]


@pytest.fixture
def door(serve, browser, tmp_path):
    """A bench that asks for a token, and a page of a browser that has none, and the way in."""
    address = serve(ACCESS).address
    token = Tokens(tmp_path / "bench-data").add("invented", list(Scope), "2026-11-25")
    page = browser.new_page()
    page.set_default_timeout(120_000)
    asked = []
    page.on("request", lambda request: asked.append(request.url))

    def come_in(path):
        page.goto(f"{address}{path}")
        page.fill("#token", token)
        page.click("#enter button")
        page.wait_for_function("() => location.pathname !== '/enter.html'")
        return page.url.removeprefix(address)

    yield address, page, come_in
    page.close()
    assert [url for url in asked if not url.startswith(address)] == []


def test_it_goes_on_to_the_page_that_was_asked_for(door):
    _, page, come_in = door
    assert come_in("jobs.html?find=K-7&state=open") == "jobs.html?find=K-7&state=open"
    expect(page, "#said", "None found")
    page.context.clear_cookies()
    assert come_in("") == ""


def test_it_goes_to_no_page_of_anybody_else(door):
    _, _, come_in = door
    for elsewhere in ELSEWHERE:
        assert come_in(f"enter.html?to={elsewhere}") == "", elsewhere


def test_what_a_gauge_types_there_is_no_token(door, typist):
    address, page, come_in = door
    page.goto(address)
    page.focus("#token")
    typist(address).type("6.961")
    expect(page, "#said", "nobody has come in here yet")
    assert page.input_value("#token") == ""
    assert come_in("start.html") == "start.html"

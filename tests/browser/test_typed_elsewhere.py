"""A gauge that types while another page is in front: its number lands at the bench all the same."""

import pytest

from tests.browser.pages import expect, page_at, post
from tests.browser.readings import kept
from tests.browser.test_typed import ONE, PRESSED

TIMES = 10
# As many values as are typed into the three places of a page, and some more.
PLAN = {
    "name": "stems-only",
    "title": "Invented twin, stems only",
    "source": "invented for a test",
    "head": {"cylinders": 2},
    "steps": [
        {
            "characteristic": "valve.stem_diameter",
            "depths_mm": ["10", "20", "30", "40"],
            "directions": ["along", "across"],
            "nominal_mm": "6.97",
            "window_mm": "0.5",
            "limit": {"lower": "6.95", "kind": "guide", "source": "invented"},
        }
    ],
}
# A button that would change something, and a field with something in it; the page of the head has
# no field, but links.
PLACES = {
    "job.html?job={job}": ("#sign button", "#sign [name=person]"),
    "start.html": ("#start button", "#start [name=number]"),
    "head.html?job={job}&position=1I": ("#language", "#positions a"),
}
STATE = "() => [...document.querySelectorAll('input, select')].map((each) => each.value)"


@pytest.fixture
def job(serve):
    """A bench whose gauge types, and a job on it: its address and the job."""
    address = serve(ONE).address
    post(address, "/plans", PLAN)
    return address, post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]


@pytest.mark.parametrize("path", PLACES)
def test_numbers_land_whatever_has_the_focus_and_nothing_is_pressed(browser, job, typist, path):
    address, job = job
    button, field = PLACES[path]
    sent = [f"{6.951 + 0.001 * n:.3f}" for n in range(3 * TIMES)]
    with page_at(browser, address, path=path.format(job=job)) as page:
        page.wait_for_selector(field)
        if "name=" in field:
            page.fill(field, "3 old")
        page.evaluate("document.activeElement.blur()")
        page.evaluate(PRESSED)
        before, gauge = (page.url, page.evaluate(STATE)), typist(address)
        for count, number in enumerate(sent):
            if count % TIMES == 0:
                page.focus((button, field, "body")[count // TIMES])
            gauge.type(number, end="Tab" if count % 4 == 0 else "Enter")
            expect(page, "#notice", f"“{number}”: it was given to the bench, for")
            page.wait_for_timeout(500)  # nobody sets a gauge down and presses faster
        assert (page.url, page.evaluate(STATE)) == before
        assert page.evaluate("window.pressed") == []
    assert kept(address, job) == [float(number) for number in sent]


def test_what_the_bench_makes_of_it_is_said_and_a_reader_types_as_ever(browser, job, typist):
    address, job = job
    with page_at(browser, address, path="start.html") as page:
        page.wait_for_function("() => document.activeElement.name === 'number'")
        keys = typist(address)
        keys.type("25.400")
        expect(page, "#notice", "for 1I stem diameter, 10 mm deep, along. Not taken: 25.4 mm")
        keys.type("10423", key_s=0.01)
        page.wait_for_function("() => document.activeElement.name === 'plan'")
        assert page.input_value("[name=number]") == "10423"
        post(address, f"/jobs/{job}/sign", {"person": "A. Person"})
        keys.type("6.961")
        expect(page, "#notice", "Nothing that this gauge could measure is up")
    assert kept(address, job) == []


def test_without_a_gauge_that_types_a_field_keeps_what_was_typed(browser, service, typist):
    _, address = service
    with page_at(browser, address, path="start.html") as page:
        page.wait_for_function("() => document.activeElement.name === 'number'")
        keys = typist(address)
        keys.type("12.345", key_s=0.01)
        page.wait_for_function("() => document.activeElement.name === 'plan'")
        assert page.input_value("[name=number]") == "12.345"

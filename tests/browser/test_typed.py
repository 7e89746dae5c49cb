"""Gauges that type: whatever has the focus, their number lands and nothing is pressed."""

import pytest

from tests.browser.pages import expect, page_at, post
from tests.browser.readings import kept

TYPES = """
[[gauge]]
name = "{name}"
serial = "{serial}"
port = "{port}"
profile = "typed-number"
resolution_mm = 0.001
measures = ["valve.stem_diameter"]
"""
ONE = TYPES.format(name="typing micrometer", serial="G-7", port="keys:")
TWO = ONE + TYPES.format(name="other micrometer", serial="G-8", port="keys:2")
PLACES = 12
PLAN = {
    "name": "stems-only",
    "title": "Invented single, stems only",
    "source": "invented for a test",
    "head": {"cylinders": 1},
    "steps": [
        {
            "characteristic": "valve.stem_diameter",
            "depths_mm": ["10", "20", "30"],
            "directions": ["along", "across"],
            "nominal_mm": "6.97",
            "window_mm": "0.5",
            "limit": {"lower": "6.95", "kind": "guide", "source": "invented"},
        }
    ],
}
# Everything that a key could press, and what it would do.
PRESSED = """
() => {
  window.pressed = [];
  for (const kind of ["click", "submit", "change", "beforetoggle"]) {
    document.addEventListener(kind, (e) => window.pressed.push(`${kind} ${e.target.id}`), true);
  }
}
"""
TEXT = "complaint: 3 misfires"


def expect_value(page, name, text):
    page.wait_for_function(
        "([name, text]) => document.querySelector(`#asking [name=${name}]`).value === text",
        arg=[name, text],
    )


def on_a_button(page):
    page.focus("#again")
    return "() => document.activeElement.id === 'again'"


def in_a_text(page):
    page.click("#skip")
    page.fill("#asking [name=reason]", TEXT)
    page.evaluate("document.querySelector('#asking [name=reason]').setSelectionRange(11, 12)")
    return f"""() => {{
        const at = document.activeElement;
        return at.value === "{TEXT}" && at.selectionStart === 11 && at.selectionEnd === 12;
    }}"""


def in_a_dialog(page):
    page.click("#ring")
    page.focus("#asking select[name=gauge]")
    gauge = page.input_value("#asking select[name=gauge]")
    return f"""() => {{
        const at = document.activeElement;
        return at.name === "gauge" && at.value === "{gauge}";
    }}"""


def on_the_pad(page):
    page.click("#key_in")
    page.wait_for_selector("#hand:not([hidden])")
    page.keyboard.type("6.9", delay=60)
    expect(page, "#entered_digits", "6.9")
    page.wait_for_timeout(500)  # nor does anybody press the gauge's key right behind their own
    return "() => true"


def on_nothing(page):
    page.evaluate("document.activeElement.blur()")
    return "() => document.activeElement === document.body"


@pytest.mark.parametrize("place", [on_a_button, in_a_text, in_a_dialog, on_the_pad, on_nothing])
def test_numbers_land_right_whatever_has_the_focus(browser, serve, typist, place):
    address = serve(ONE).address
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    sent = [f"{6.951 + 0.001 * n:.3f}" for n in range(PLACES)]
    with page_at(browser, address) as page:
        expect(page, "#gauges", "waiting")
        expect(page, "#left", f"{PLACES} left")
        untouched = place(page)
        page.evaluate(PRESSED)
        gauge = typist(address)
        for count, number in enumerate(sent, 1):
            # A padded one, one with a comma, one that ends with Tab: as gauges differ.
            text = {0: f"+{number}", 1: number.replace(".", ","), 2: f"  {number}"}.get(
                count % 4, number
            )
            gauge.type(text, end="Tab" if count % 5 == 0 else "Enter")
            left = PLACES - count
            expect(page, "#left", f"{left} left" if left else "Everything is measured")
            page.wait_for_function(untouched)
            if left:
                page.wait_for_timeout(500)  # nobody sets a gauge down and presses faster
        assert page.evaluate("window.pressed") == []
        assert page.inner_text("#notice") == ""
    assert kept(address, job) == [float(number) for number in sent]


def test_a_person_types_as_ever(browser, serve, typist):
    address = serve(ONE).address
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    with page_at(browser, address) as page:
        expect(page, "#gauges", "waiting")
        hand = typist(address)
        page.click("#skip")
        page.focus("#asking [name=reason]")
        hand.type("2.5 turns only", end="", key_s=0.09)
        # Even fast, and even what a barcode reader sends: a text that is no number stays.
        hand.type(" JOB-10423", end="", key_s=0.01)
        expect_value(page, "reason", "2.5 turns only JOB-10423")
        page.click("#asking_cancel")
        page.click("#sign")
        page.focus("#asking [name=person]")
        hand.type("A.Person", key_s=0.01)
        page.wait_for_selector("#asking", state="hidden")  # sent by the reader's own Enter
        expect(page, "#message", "This job is closed")
        post(address, "/jobs", {"number": "J-2", "plan": "stems-only"})
        expect(page, "#job", "J-2")
        page.click("#key_in")
        page.wait_for_selector("#hand:not([hidden])")
        hand.type("6.955", end="", key_s=0.07)
        expect(page, "#entered_digits", "6.955")
        hand.type("", end="Enter")
        expect(page, "#back", "6.955 mm")
        page.focus("#key_in")
        hand.type(" ", end="")  # Space presses what has the focus
        page.wait_for_selector("#hand", state="hidden")


def test_two_that_type_are_told_apart_or_refused(browser, serve, typist):
    address = serve(TWO).address
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    with page_at(browser, address) as page:
        expect(page, "#gauges", "waiting")
        typist(address).type("6.961")
        expect(page, "#notice", "other micrometer all type")
        page.click("#notice button")
        assert page.inner_text("#notice") == ""
    assert kept(address, job) == []


def test_where_none_is_set_up_it_is_said(browser, service, gauge, typist):
    _, address = service
    with page_at(browser, address) as page:
        expect(page, "#gauges", "11.500")
        page.evaluate(PRESSED)
        page.focus("#new_job")
        keys = typist(address)
        keys.type("6.961")
        expect(page, "#notice", 'port = "keys:"')
        assert page.evaluate("window.pressed") == []
        # A reader types, too: what it read is taken along where a job is opened.
        page.click("#notice a")
        page.wait_for_function("() => document.activeElement?.name === 'plan'")
        assert page.input_value("[name=number]") == "6.961"
        page.focus("[name=complaint]")
        keys.type("6.961", end="")
        page.wait_for_function("() => document.activeElement?.value === '6.961'")


def test_what_cannot_be_taken_is_said(browser, serve, typist):
    address = serve(ONE).address
    with page_at(browser, address, refused=1) as page:
        expect(page, "#gauges", "waiting")
        gauge = typist(address)
        gauge.type("6.961")
        expect(page, "#notice", "Nothing that this gauge could measure is up")
        gauge.type("69x61")
        expect(page, "#notice", "does not understand")
        gauge.type("6.961", end="")
        expect(page, "#notice", "no Enter or Tab")
        post(address, "/plans", PLAN)
        post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
        expect(page, "#position", "1I")
        gauge.type("25.400")
        expect(page, "#message", "Not taken: 25.4 mm")
        gauge.type("6.961")
        expect(page, "#message", "Take it out.")

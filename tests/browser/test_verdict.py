"""What is proven of a value stands beside it; who signs is told what is open."""

import pytest

from tests.browser.pages import CONTRAST, PLAN, expect, page_at, post

COLOURS = """
() => {
  const probe = document.createElement("i");
  document.body.append(probe);
  const named = (name) => {
    probe.style.color = `var(--${name})`;
    return getComputedStyle(probe).color;
  };
  const said = document.querySelector("#done .badge");
  return { said: getComputedStyle(said).color, ...Object.fromEntries(
    ["good", "bad", "unsure", "soft"].map((each) => [each, named(each)])) };
}
"""
LIMIT = {"kind": "guide", "source": "invented"}


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize(
    ("limit", "word", "colour"),
    [
        ({"lower": "6.95", **LIMIT}, "proven in", "good"),
        ({"lower": "6.99", **LIMIT}, "proven out", "bad"),
        ({"lower": "6.971", **LIMIT}, "not sure", "unsure"),
        (None, "no limit", "soft"),
    ],
)
def test_beside_the_number_stands_its_verdict(browser, service, gauge, limit, word, colour, light):
    _, address = service
    step = {key: value for key, value in PLAN["steps"][0].items() if key != "limit"}
    post(address, "/plans", {**PLAN, "steps": [{**step, **({"limit": limit} if limit else {})}]})
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    with page_at(browser, address, light=light) as page:
        expect(page, "#position", "1I")
        assert page.inner_text("#done") == ""
        gauge.show(6.971)
        page.wait_for_selector("#done .badge svg path")
        assert page.inner_text("#done").split() == word.split()
        found = page.evaluate(COLOURS)
        assert found["said"] == found[colour]
        assert page.evaluate(CONTRAST) == []


def test_who_closes_a_job_is_told_what_is_open_and_gives_a_reason(browser, service, gauge):
    _, address = service
    post(
        address,
        "/plans",
        {**PLAN, "steps": [{**PLAN["steps"][0], "limit": {"lower": "6.971", **LIMIT}}]},
    )
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    with page_at(browser, address) as page:
        expect(page, "#position", "1I")
        gauge.show(6.971)
        expect(page, "#done", "not")
        gauge.show(11.5)
        expect(page, "#place", "across")
        gauge.show(6.971)
        expect(page, "#left", "2 left")
        page.click("#sign")
        expect(page, "#asking_help", "2 values are not measured. 2 of 2 parts are not accepted.")
        expect(page, "#asking_fields", "Who signs")
        assert page.get_attribute("#asking [name=reason]", "required") == ""
        page.fill("#asking [name=person]", "A. Person")
        page.fill("#asking [name=reason]", "the customer knows")
        page.click("#asking_send")
        expect(page, "#message", "This job is closed. 2 of it were not measured.")

"""No word of what is up is broken in its midst, whatever is up; what is asked fits the window."""

import pytest

from daq.head.characteristic import CATALOGUE
from tests.browser.pages import PLAN, expect, page_at, post

SIZES = [(1280, 800), (1920, 1080), (390, 844)]
# Each piece between two places where a word may be parted stands on one line, inside its panel.
BROKEN = """
async (names) => {
  const { named, positionText } = await import("/words.js");
  const at = (id) => document.getElementById(id);
  const inside = at("up").getBoundingClientRect();
  const wrong = [];
  for (const name of names) {
    at("position").textContent = positionText(name.startsWith("head.") ? "head" : "2E");
    at("what").textContent = named("characteristic", name);
    at("place").textContent = name === "head.flatness" ? "lengthwise, plug side" : "";
    for (const id of ["position", "what", "place"]) {
      const text = at(id).firstChild;
      if (!text) continue;
      for (const { index, 0: piece } of text.data.matchAll(/[^\\s\\u00ad-]+/g)) {
        // The box before the last of a letter is that of the hyphen which parts the word.
        const boxes = [...piece].map((_, letter) => {
          const range = document.createRange();
          range.setStart(text, index + letter);
          range.setEnd(text, index + letter + 1);
          return [...range.getClientRects()].at(-1);
        });
        const fits = boxes.every((each) => each.left >= inside.left && each.right <= inside.right);
        const lines = new Set(boxes.map((each) => each.top));
        if (lines.size !== 1 || !fits) wrong.push(`${name}: ${piece}`);
      }
    }
  }
  return wrong;
}
"""


@pytest.mark.parametrize("locale", ["en-US", "de-DE"])
def test_no_word_of_what_is_up_is_broken(browser, service, gauge, locale):
    _, address = service
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    with page_at(browser, address, locale=locale) as page:
        expect(page, "#position", "1I")
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate(BROKEN, sorted(CATALOGUE)) == [], (width, height)


SEEN = """
(ids) => {
  const panel = document.querySelector("#measure").getBoundingClientRect();
  const hand = document.querySelector("#hand").getBoundingClientRect();
  return ids.map((id) => {
    const each = document.querySelector(id).getBoundingClientRect();
    const edge = Math.min(innerHeight, panel.bottom, hand.bottom) + 0.5;
    return [id, each.bottom <= edge, each.height >= 46];
  }).filter(([, seen, large]) => !seen || !large);
}
"""


@pytest.mark.parametrize("locale", ["en-US", "de-DE"])
def test_the_pad_and_its_answers_are_seen_whole_under_a_notice(browser, service, gauge, locale):
    _, address = service
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    with page_at(browser, address, locale=locale) as page:
        expect(page, "#position", "1I")
        expect(page, "#limit", "6.95")
        page.click("#key_in")
        page.wait_for_selector("#hand:not([hidden])")
        page.evaluate(
            "import('/notice.js').then(it => it.notify('A long sentence. '.repeat(9), 'look_here'))"
        )
        page.wait_for_selector("#notice button")
        assert page.evaluate(SEEN, ["#keypad button:last-child", "#show_back"]) == []
        page.keyboard.type("69.62", delay=60)
        page.keyboard.press("Enter")
        page.wait_for_selector("#back .asked")
        assert page.evaluate(SEEN, ["#measure_again", "#keep_it"]) == []


def test_the_same_work_in_many_places_is_said_once_with_the_places(browser, service, gauge):
    _, address = service
    post(address, "/plans", {**PLAN, "head": {"cylinders": 4}})
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    stem = {"characteristic": "valve.stem_diameter", "unit": "mm", "came": "keyed"}
    for position in ("2I", "3E", "4I"):
        place = {"depth_mm": "12", "direction": "along"}
        sent = {**stem, "position": position, "value": "6.902", "place": place}
        post(address, f"/jobs/{job}/measurements", sent)
    with page_at(browser, address) as page:
        expect(page, "#work", "2I, 3E, 4I valve: replace the valve")
        assert page.locator("#work details").count() == 1
        page.click("#work summary")
        expect(page, "#work details", "3E valve: ")
        assert "mm" not in page.locator("#work > .about").all_inner_texts()
        page.click("[data-length-switch]")
        expect(page, "#work", "Lengths in these sentences are in mm.")


def test_the_head_as_a_position_is_a_word_of_the_language(browser, service, gauge):
    _, address = service
    head = {
        **PLAN,
        "name": "heads-only",
        "steps": [{"characteristic": "head.clean"}, {"characteristic": "head.cracks"}],
    }
    post(address, "/plans", head)
    post(address, "/jobs", {"number": "J-1", "plan": "heads-only"})
    with page_at(browser, address, locale="de-DE") as page:
        expect(page, "#position", "Kopf")
        expect(page, "#what", "Kopf sauber")
        page.click("#look_bad")
        expect(page, "#work", "Kopf: ")
        expect(page, "#results .name", "Kopf sauber")
        assert "head" not in page.inner_text("#record")

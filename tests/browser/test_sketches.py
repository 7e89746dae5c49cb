"""Every characteristic of the trade has a sketch of its own that says where the gauge goes."""

from daq.head.characteristic import CATALOGUE
from tests.browser.pages import expect, page_at, post

DRAWN = """
async () => {
  const { sketch, sketched } = await import("/sketch/sketch.js");
  return sketched().map((name) => {
    const made = sketch(name, null, name);
    document.body.append(made);
    const sheet = made.getBoundingClientRect();
    const inside = (each) => {
      const { x, y, right, bottom } = each.getBoundingClientRect();
      return x >= sheet.x && y >= sheet.y && right <= sheet.right && bottom <= sheet.bottom;
    };
    const edges = [...made.querySelectorAll(".sk-part")];
    const marks = [...made.querySelectorAll(".sk-touch, .sk-way, .sk-band")];
    const said = [name, made.innerHTML, marks.length, marks.every(inside), edges.every(inside)];
    made.remove();
    return said;
  });
}
"""


def test_every_characteristic_has_a_sketch_of_its_own(browser, service):
    _, address = service
    with page_at(browser, address) as page:
        drawn = page.evaluate(DRAWN)
    assert {name for name, *_ in drawn} == set(CATALOGUE)
    assert len({picture for _, picture, *_ in drawn}) == len(CATALOGUE)
    # Each marks where the gauge or the eye goes, and the mark lies on the sheet.
    assert [name for name, _, marks, inside, _ in drawn if not marks or not inside] == []
    # The valve whose stem is measured is seen whole.
    assert {name for name, *_, whole in drawn if whole} >= {"valve.stem_diameter"}


def test_the_sketch_of_what_is_up_stands_beside_it(browser, service, gauge):
    _, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
    with page_at(browser, address) as page:
        expect(page, "#what", "stem runout")
        label = page.get_attribute("#sketch svg", "aria-label")
        assert label == "Where to put the gauge: 1I stem runout"

"""Going on, taking again, undoing, skipping and jumping: by touch, by keyboard, by foot."""

import pytest

from tests.browser.pages import PLAN, expect, page_at, post
from tests.browser.readings import kept, measurements


@pytest.fixture
def job(service):
    """A job of four values of one valve each way, opened."""
    _, address = service
    post(address, "/plans", PLAN)
    return post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]


def take(page, gauge, mm, left):
    """Put it on, wait until it is kept and take it out."""
    gauge.show(mm)
    expect(page, "#left", f"{left} left" if left else "Everything is measured")
    gauge.show(11.5)
    page.wait_for_function("() => !document.body.classList.contains('takeout')")


def voids(address, job):
    return [each["void_reason"] for each in measurements(address, job) if each["status"] == "VOID"]


def test_another_key_becomes_the_foot_switch_and_is_remembered(
    browser, service, gauge, job, typist
):
    _, address = service
    with page_at(browser, address, refused=1) as page:
        expect(page, "#place", "along")
        page.click("#device")
        page.click("[data-option=foot]")
        expect(page, "#asking_help", "Press the foot switch now")
        keys = typist(address)
        keys.press("7")  # a number is a number
        expect(page, "#asking_help", "Press the foot switch now")
        keys.press("F4")
        expect(page, "#asking_help", "key F4")
        page.click("#asking_cancel")
        page.reload()
        expect(page, "#place", "along")
        keys.press("F9")
        keys.press("F4")
        expect(page, "#notice", "nothing to go on from yet")


def test_by_keyboard_alone(browser, service, gauge, job):
    _, address = service
    with page_at(browser, address, refused=1) as page:
        expect(page, "#place", "along")
        take(page, gauge, 6.961, 3)
        expect(page, "#place", "across")
        page.keyboard.press("u")
        expect(page, "#asking_help", "6.961")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")  # one of the reasons that need no typing
        expect(page, "#place", "along")
        assert voids(address, job) != []
        page.keyboard.press("s")
        expect(page, "#asking_title", "Skip")
        page.keyboard.press("Escape")
        page.wait_for_selector("#asking", state="hidden")
        page.keyboard.press("s")
        page.wait_for_selector("#asking[open]")
        page.focus("#asking [name=reason]")
        page.keyboard.type("not asked for, g and a and s")
        page.keyboard.press("Enter")
        expect(page, "#place", "across")
        page.wait_for_selector("#asking", state="hidden")
        page.keyboard.press("j")
        expect(page, "#asking_title", "Jump")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        expect(page, "#position", "1E")
        expect(page, "#place", "across")
        page.keyboard.press("a")
        page.keyboard.press("g")
        expect(page, "#notice", "nothing to go on from yet")


def test_by_touch(browser, service, gauge, job):
    _, address = service
    with page_at(browser, address, "phone") as page:
        expect(page, "#place", "along")
        assert page.is_disabled("#undo")
        page.click("#jump")
        page.click("#asking_fields button >> text=1E")
        page.click("#asking_fields button >> text=along")
        expect(page, "#position", "1E")
        take(page, gauge, 6.961, 3)
        page.click("#undo")
        page.wait_for_selector("#asking[open]")
        small = page.evaluate(
            "[...document.querySelectorAll('#asking button, #acts button, #more button')]"
            ".map(b => [b.textContent, b.offsetWidth, b.offsetHeight])"
            ".filter(([, w, h]) => w < 46 || h < 46)"
        )
        assert small == []
        page.click("#asking_fields button >> text=the gauge slipped")
        expect(page, "#notice", "is void, and is up again")
        expect(page, "#position", "1E")
        assert voids(address, job) == ["the gauge slipped"]
        page.click("#skip")
        page.click("#asking_fields button >> text=the part is not there")
        expect(page, "#place", "across")
        take(page, gauge, 6.962, 2)
        page.click("#again")  # what is up now, which nothing was seen of
        assert kept(address, job) == [6.962]


def test_by_foot(browser, service, gauge, job, typist):
    _, address = service
    with page_at(browser, address, refused=1) as page:
        expect(page, "#place", "along")
        foot = typist(address)
        # Nothing was measured yet: a sentence, nothing to press away with oily hands.
        foot.press("F9")
        expect(page, "#notice", "nothing to go on from yet")
        gauge.show(6.961)
        expect(page, "#left", "3 left")
        assert page.inner_text("#notice") == ""
        foot.press("F9")  # short: go on, though the part was not seen to leave
        expect(page, "#place", "across")
        gauge.show(11.5)
        expect(page, "#gauges", "11.500")
        take(page, gauge, 6.962, 2)
        expect(page, "#position", "1E")
        foot.press("F9", times=2)  # twice: undo
        expect(page, "#notice", "1I stem diameter, 12 mm deep, across, 6.962")
        expect(page, "#left", "3 left")
        expect(page, "#place", "across")
        assert voids(address, job) == ["undone at the bench with the foot switch"]
        gauge.show(6.963)
        expect(page, "#left", "2 left")
        let_go = foot.hold("F9")  # long: take again
        expect(page, "#left", "3 left")
        let_go()
        assert voids(address, job)[1:] == ["taken again at the bench"]
        expect(page, "#place", "across")
        page.click("#skip")
        page.wait_for_selector("#asking[open]")
        foot.press("F9")  # a foot presses nothing in a dialog
        assert kept(address, job) == [6.961]

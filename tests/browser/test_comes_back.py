"""What the page does when the bench or a gauge goes away, and what two pages see."""

from tests.browser.pages import PLAN, expect, page_at, post
from tests.browser.readings import kept


def opened(address):
    post(address, "/plans", PLAN)
    return post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]


def test_the_service_is_killed_and_started_again_under_an_open_page(browser, service, gauge):
    running, address = service
    job = opened(address)
    with page_at(browser, address, may_lose=True) as page:
        expect(page, "#place", "along")
        gauge.show(6.961)
        expect(page, "#left", "3 left")
        page.click("#skip")
        page.fill("#asking [name=reason]", "smokes when cold")
        running.kill()
        page.wait_for_function("() => document.body.classList.contains('dead')")
        expect(page, "#troubles", "nothing can be kept")
        page.wait_for_selector("#press:disabled")
        page.locator("#asking [name=reason]").press_sequentially(", oil on the plugs")
        running.start()
        page.wait_for_function("() => !document.body.classList.contains('dead')")
        typed = page.input_value("#asking [name=reason]")
        assert typed == "smokes when cold, oil on the plugs"
        assert page.evaluate("document.activeElement.name") == "reason"
        page.click("#asking_cancel")
        expect(page, "#results", "6.961")
        # The bench goes on where it was: what was up, and a part that has to leave first.
        page.click("#press")
        expect(page, "#place", "across")
        gauge.show(11.5)
        expect(page, "#digits", "11.500")
        gauge.show(6.962)
        expect(page, "#left", "2 left")
    assert kept(address, job) == [6.961, 6.962]


def test_two_pages_see_the_same_bench(browser, service, gauge):
    _, address = service
    job = opened(address)
    with page_at(browser, address) as one, page_at(browser, address, "phone") as two:
        for page in (one, two):
            expect(page, "#place", "along")
        gauge.show(6.961)
        for page in (one, two):
            expect(page, "#left", "3 left")
            expect(page, "#results", "6.961")
        two.click("#again")
        for page in (one, two):
            expect(page, "#left", "4 left")
            expect(page, "#results", "void")
    assert kept(address, job) == []

"""The page in another language: by the browser's wish, by a switch, and remembered."""

from tests.browser.pages import CONTRAST, expect, page_at, post


def test_the_language_is_switched_and_remembered(browser, service, gauge):
    _, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
    with page_at(browser, address) as page:
        expect(page, "#what", "stem runout")
        page.click("#language")
        expect(page, "#what", "Schlag des Schafts")
        expect(page, "#again", "Noch einmal")
        assert page.get_attribute("html", "lang") == "de"
        assert page.evaluate(CONTRAST) == []
        page.goto(f"{address}jobs.html")
        expect(page, "h1", "Aufträge")
        page.goto(address)
        expect(page, "#language", "English")
        page.click("#language")
        expect(page, "#what", "stem runout")


def test_the_first_language_is_the_one_that_the_browser_asks_for(browser, service, gauge):
    _, address = service
    for locale, word in (("de-AT", "Neuer Auftrag"), ("en-GB", "New job"), ("fr-FR", "New job")):
        with page_at(browser, address, locale=locale) as page:
            expect(page, "#new_job", word)


def test_who_has_no_token_yet_reads_it_in_the_same_language(browser, service, gauge):
    _, address = service
    with browser.new_context(locale="de-DE") as context:
        page = context.new_page()
        page.goto(f"{address}enter.html")
        expect(page, "h1", "Schlüssel")
        assert page.evaluate(CONTRAST) == []


def test_what_the_bench_asks_for_now_is_in_the_language_of_the_page(browser, service, gauge):
    _, address = service
    with page_at(browser, address, locale="de-DE") as page:
        expect(page, "#message", "Einen Auftrag öffnen.")
        post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
        expect(page, "#message", "In einer Richtung drehen")

"""Opening a job with a barcode reader, and changing a plan."""

from tests.browser.pages import CONTRAST, PLAN, SIZES, expect, page_at, post


def test_a_reader_types_the_number_and_the_job_is_opened(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    with page_at(browser, address, path="start.html?plan=stems-only") as page:
        expect(page, "#chosen", "at least 6.95 (guide value)")
        assert page.evaluate(CONTRAST) == []
        page.wait_for_function("() => document.activeElement.name === 'number'")
        page.keyboard.type("J-42")
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.activeElement.name === 'plan'")
        page.fill("[name=customer]", "invented customer")
        page.fill("[name=missing]", "one cotter")
        page.keyboard.press("Enter")
        expect(page, "#job", "J-42")
        expect(page, "#position", "1I")
        page.goto(f"{address}start.html")
        page.wait_for_function("() => document.activeElement.name === 'number'")
        assert page.input_value("[name=plan]") == "stems-only"  # the last one that was taken
        page.keyboard.type("J-42")
        page.keyboard.press("Enter")
        expect(page, "#there", "is there already")
        page.click("#there a")
        expect(page, "#facts", "one cotter")


def test_a_plan_is_changed_and_what_is_wrong_is_said_where_it_stands(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    with page_at(browser, address, path="plan.html?plan=stems-only", refused=2) as page:
        expect(page, "#steps", "stem diameter")
        page.get_by_label("Name", exact=True).fill("stems-shop")
        page.select_option("#more", "seat.leak")
        page.click("#add_step")
        page.get_by_label("at least").first.fill("6.94")
        page.click("#keep")
        expect(page, "#fault", "1 things are wrong")
        expect(page, "#steps fieldset:nth-child(2)", "seat leak needs 'volume_l'")
        page.get_by_label("Volume under test, l").fill("0.4")
        page.select_option("#steps fieldset:nth-child(2) select", "limit")
        page.get_by_label("at most").last.fill("0.2")
        page.get_by_label("Where it stands").last.fill("")
        page.click("#keep")
        expect(page, "#steps fieldset:nth-child(2)", "source")
        page.get_by_label("Where it stands").last.fill("invented shop's figure")
        page.click("#keep")
        expect(page, "#kept", "Kept")
        assert page.inner_text("#fault") == ""
        page.click("#kept a")
        expect(page, "#chosen", "at least 6.94")
        expect(page, "#chosen", "at most 0.2")


def test_they_fit_a_phone(browser, service, gauge):
    _, address = service
    for path in ("start.html", "plan.html?plan=four-by-two-whole"):
        with page_at(browser, address, "phone", path=path) as page:
            expect(page, "main", "head clean" if "plan.html" in path else "stem runout")
            assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"][0]
            assert page.evaluate(CONTRAST) == []

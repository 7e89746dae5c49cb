"""Opening a job with a barcode reader, and changing a plan."""

from tests.browser.pages import CONTRAST, PLAN, SIZES, expect, page_at, post


def test_a_reader_types_the_number_and_the_job_is_opened(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    with page_at(browser, address, path="start.html?plan=stems-only") as page:
        expect(page, "#chosen", "at least 6.95 mm (guide value)")
        assert page.evaluate(CONTRAST) == []
        page.wait_for_function("() => document.activeElement?.name === 'number'")
        page.keyboard.type("J-42")
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.activeElement?.name === 'plan'")
        page.fill("[name=customer]", "invented customer")
        page.fill("[name=missing]", "one cotter")
        page.keyboard.press("Enter")
        expect(page, "#job", "J-42")
        expect(page, "#position", "1I")
        page.goto(f"{address}start.html")
        page.wait_for_function("() => document.activeElement?.name === 'number'")
        assert page.input_value("[name=plan]") == "stems-only"  # the last one that was taken
        page.keyboard.type("J-42")
        page.keyboard.press("Enter")
        expect(page, "#there", "is there already")
        page.click("#there a")
        expect(page, "#facts", "one cotter")


def test_a_plan_is_changed_and_what_is_wrong_is_said_where_it_stands(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    with page_at(browser, address, path="plan.html?plan=stems-only", refused=3) as page:
        expect(page, "#steps", "stem diameter")
        page.get_by_label("Name", exact=True).fill("stems-shop")
        page.select_option("#more", "seat.leak")
        page.click("#add_step")
        page.get_by_label("at least, mm").first.fill("6.94")
        page.click("#keep")
        expect(page, "#fault", "1 things are wrong")
        expect(page, "#steps fieldset:nth-child(2)", "seat leak needs 'volume_l'")
        page.get_by_label("Volume under test, l").fill("0.4")
        page.select_option("#steps fieldset:nth-child(2) select", "limit")
        page.get_by_label("Where it stands").last.fill("invented")
        page.click("#keep")
        expect(page, "#steps .limit > .wrong", "a limit needs 'lower', 'upper' or both")
        page.get_by_label("at most, mbar.l/s").last.fill("0.2")
        page.get_by_label("Where it stands").last.fill("")
        page.click("#keep")
        expect(page, "label:has([aria-invalid]) + .wrong", "is missing and has to be given")
        assert page.get_by_label("Where it stands").last.get_attribute("aria-invalid") == "true"
        page.get_by_label("Where it stands").last.fill("invented shop's figure")
        page.click("#keep")
        expect(page, "#kept", "Kept")
        assert page.inner_text("#fault") == ""
        page.click("#kept a")
        expect(page, "#chosen", "at least 6.94")
        expect(page, "#chosen", "at most 0.2 mbar.l/s")


def test_the_head_of_a_plan_is_one_bank_with_its_own_numbers(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    with page_at(browser, address, path="plan.html?plan=stems-only", refused=3) as page:
        head = page.locator("#about fieldset")
        cylinders = head.get_by_label("Cylinders", exact=True)
        numbers = head.get_by_label("Numbers of its cylinders")
        wrong = "() => [...document.querySelectorAll('.wrong')].map((each) => each.textContent)"
        cylinders.fill("13")
        numbers.fill("2 four")
        page.click("#keep")
        expect(page, "#fault", "2 things are wrong")
        assert numbers.get_attribute("aria-invalid") == "true"
        assert page.evaluate(wrong)[1].startswith("“four” should be a valid integer")
        expect(page, "label:has([aria-invalid]) + .wrong", "less than or equal to 12")
        cylinders.fill("3")
        numbers.fill("2 4")
        page.click("#keep")
        expect(page, "#fault", "1 things are wrong")
        assert page.evaluate(wrong) == ["'numbers' names 2 cylinders, and 'cylinders' says 3"]
        cylinders.fill("2")
        page.click("#keep")
        expect(page, "#about .wrong", "need 'bank', left or right")
        assert page.evaluate(CONTRAST) == []
        head.get_by_label("Which bank").select_option("right")
        page.click("#keep")
        expect(page, "#kept", "Kept")
        assert page.evaluate(wrong) == []
        page.click("#kept a")
        page.fill("[name=number]", "J-1")
        page.click("#start button")
        expect(page, "#position", "2I")
        page.goto(f"{address}plan.html?plan=stems-only")
        page.wait_for_selector("#about fieldset")
        assert numbers.input_value() == "2 4"
        numbers.fill("")
        page.click("#keep")
        expect(page, "#kept", "Kept")  # empty again: 1 and 2


def test_they_fit_a_phone(browser, service, gauge):
    _, address = service
    for path in ("start.html?plan=four-by-two-whole", "plan.html?plan=four-by-two-whole"):
        with page_at(browser, address, "phone", path=path) as page:
            expect(page, "main", "head clean" if "plan.html" in path else "stem runout")
            assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"][0]
            assert page.evaluate(CONTRAST) == []


def test_a_plan_is_chosen_by_what_it_judges_by(browser, service, gauge):
    _, address = service
    limit = {"kind": "shop", "source": "invented"}
    steps = [
        {
            "characteristic": "valve.face_runout",
            "limit_intake": {"upper": "0.10", **limit},
            "limit_exhaust": {"upper": "0.13", **limit},
        },
        {"characteristic": "valve.stem_runout"},
        {"characteristic": "valve.recess"},
    ]
    post(address, "/plans", {**PLAN, "steps": steps})
    with page_at(browser, address, path="start.html?plan=stems-only") as page:
        expect(page, "#chosen", "limit, intake: at most 0.10 mm (the shop's own)")
        expect(page, "#chosen", "limit, exhaust: at most 0.13 mm")
        rows = page.locator("#chosen tbody tr").all_inner_texts()
        assert "at most 0.03 mm (guide value)" in rows[1]
        assert "no limit of its own" in rows[2]

"""Finding a job, and the page of one: what was said, what is left, signing it off."""

from tests.browser.pages import CONTRAST, PLAN, SIZES, expect, page_at, post


def opened(address, number, **said):
    return post(address, "/jobs", {"number": number, "plan": "stems-only", **said})["id"]


def test_a_job_is_found_while_it_is_typed_and_opened_by_a_reader(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    for at in range(60):
        opened(address, f"J-{at:03d}", customer=f"Customer {'odd' if at % 2 else 'even'}, invented")
    wanted = opened(address, "K-7", customer="Müller & Söhne, invented")
    post(address, f"/jobs/{wanted}/sign", {"person": "A. Person"})
    with page_at(browser, address, path="jobs.html") as page:
        expect(page, "#said", "The newest 50")
        page.click("#older")
        expect(page, "#said", "61 found")
        page.fill("#find", "odd cust")
        expect(page, "#said", "30 found")
        page.fill("#find", "")
        page.select_option("#state", "closed")
        expect(page, "#said", "1 found")
        expect(page, "#found", "Müller & Söhne")
        page.select_option("#state", "any")
        page.fill("#find", "nobody")
        expect(page, "#said", "None found")
        assert page.evaluate(CONTRAST) == []
        # A reader types as fast as it can, and ends by Enter.
        page.fill("#find", "")
        page.focus("#find")
        page.keyboard.insert_text("J-017")
        page.keyboard.press("Enter")
        expect(page, "#job", "Job J-017")


def test_a_job_is_worked_on_left_out_and_signed_off(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = opened(address, "J-1", customer="invented customer", complaint="smokes\nwhen cold")
    with page_at(browser, address, path=f"job.html?job={job}") as page:
        expect(page, "#facts", "smokes")
        expect(page, "#parts", "1E valve")
        expect(page, "#open_points", "1I valve")
        page.select_option("#leave_out [name=position]", "1E")
        page.select_option("#leave_out [name=because]", "missing")
        page.fill("#leave_out [name=reason]", "not in the box")
        page.click("#leave_out button")
        expect(page, "#parts", "not in the box")
        page.fill("#done_work [name=what]", "valve replaced")
        page.click("#done_work button")
        page.wait_for_function(
            "() => document.querySelector('#done_work [name=what]').value === ''"
        )
        assert page.evaluate(CONTRAST) == []
        expect(page, "#sign_help", "2 values are not measured. 2 of 2 parts are not accepted.")
        page.fill("#sign [name=person]", "A. Person")
        page.click("#sign button")
        expect(page, "#sign", "This job is closed")
        expect(page, "#facts", "A. Person")
        page.wait_for_function("() => !document.querySelector('form')")


def test_what_is_refused_is_said_and_what_was_typed_stays(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = opened(address, "J-1")
    with page_at(browser, address, path=f"job.html?job={job}", refused=1) as page:
        page.fill("#done_work [name=what]", "valve replaced")
        post(address, f"/jobs/{job}/sign", {"person": "somebody else"})
        page.click("#done_work button")
        expect(page, "#done_work [role=alert]", "signed and closed")
        assert page.input_value("#done_work [name=what]") == "valve replaced"


def test_the_pages_fit_a_phone(browser, service, gauge):
    _, address = service
    job = post(address, "/jobs", {"number": "J-1", "plan": "four-by-two-whole"})["id"]
    for path in ("jobs.html", f"job.html?job={job}"):
        with page_at(browser, address, "phone", path=path) as page:
            expect(page, "main", "J-1" if path == "jobs.html" else "1I valve")
            assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"][0]


def test_a_photograph_is_kept_with_its_part_and_shown(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = opened(address, "J-1")
    with page_at(browser, address, path=f"job.html?job={job}") as page:
        page.wait_for_selector("#photograph input")
        picture = page.screenshot()
        page.set_input_files(
            "#photograph [type=file]",
            {"name": "seat.png", "mimeType": "image/png", "buffer": picture},
        )
        page.select_option("#photograph [name=position]", "1I")
        page.select_option("#photograph [name=part]", "valve")
        page.fill("#photograph [name=note]", "invented: pitted")
        page.click("#photograph button")
        expect(page, "#photographs", "1I, valve, invented: pitted")
        page.wait_for_function("() => document.querySelector('#photographs img').naturalWidth > 0")

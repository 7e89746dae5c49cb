"""Bringing files in: looked at, each bad row with its reason, the good ones kept. Invented."""

import io
from pathlib import Path

import openpyxl

from tests.browser.pages import CONTRAST, PLAN, SIZES, expect, page_at, post

DCC = Path(__file__).parents[2] / "fixtures/dcc/example-dcc.xml"
HEADER = "characteristic,position,depth_mm,direction,value,unit"


def put(page, name, content):
    data = content if isinstance(content, bytes) else content.encode()
    page.set_input_files("#file", {"name": name, "mimeType": "text/plain", "buffer": data})
    page.click("#look")


def test_measurements_are_looked_at_before_they_are_kept(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    rows = ["valve.stem_diameter,1I,12,along,6.971,mm", "valve.stem_diameter,9I,12,along,6.9,mm"]
    with page_at(browser, address, path=f"bring.html?job={job}") as page:
        assert page.input_value("[name=number]") == "J-1"
        put(page, "measured.csv", "\r\n".join([HEADER, *rows]))
        expect(page, "#shown", "1 rows can be kept")
        expect(page, "#shown", "1 rows are not taken")
        expect(page, "#shown", "9I")
        assert page.evaluate(CONTRAST) == []
        page.click("#keep")
        expect(page, "#shown", "1 rows are kept")
        page.goto(f"{address}head.html?job={job}&position=1I")
        expect(page, "#one", "6.971")
        expect(page, "#one", "sent")


def test_a_row_that_is_asked_about_does_not_count_as_one_that_can_be_kept(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    rows = ["valve.stem_diameter,1I,12,along,6.971,mm", "valve.stem_diameter,1E,12,along,6.02,mm"]
    with page_at(browser, address, path=f"bring.html?job={job}") as page:
        assert page.input_value("[name=number]") == "J-1"
        put(page, "measured.csv", "\r\n".join([HEADER, *rows]))
        expect(page, "#shown", "1 rows can be kept")
        expect(page, "#shown", "1 rows are asked about")
        page.click("#keep")
        expect(page, "#shown", "1 rows are kept")


def test_limits_come_from_a_workbook(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    book = openpyxl.Workbook()
    book.active.append(["characteristic", "lower", "unit", "kind", "source"])
    book.active.append(["valve.stem_diameter", 6.94, "mm", "maker", "invented manual"])
    book.active.append(["valve.colour", 1, "mm", "maker", "invented manual"])
    held = io.BytesIO()
    book.save(held)
    with page_at(browser, address, path="bring.html") as page:
        page.select_option("#what", "limits")
        page.select_option("[name=plan]", "stems-only")
        put(page, "limits.xlsx", held.getvalue())
        expect(page, "#shown", "at least 6.94 mm (invented manual)")
        expect(page, "#shown", "valve.colour")
        page.click("#keep")
        expect(page, "#shown", "1 rows are kept")


def test_a_certificate_is_shown_with_what_speaks_against_it(browser, service, gauge):
    _, address = service
    with page_at(browser, address, "phone", path="bring.html", refused=1) as page:
        page.select_option("#what", "calibration")
        put(page, "dcc.xml", DCC.read_text())
        expect(page, "#shown", "CAL-2026-0118")
        expect(page, "#shown", "the gauge is 'G-1042'")
        page.click("#keep")
        expect(page, "#fault", "the gauge is 'G-1042'")
        assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"][0]

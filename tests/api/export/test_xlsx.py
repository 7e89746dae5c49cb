"""The workbook as a spreadsheet program sees it: types, heads, shapes, charts. Invented records."""

import zipfile
from decimal import Decimal
from io import BytesIO

import pytest

from api.export import ALONE, WRITERS
from daq.head.measurement import Status
from tests.api.export.readers import pdf_pages, workbook
from tests.generators.a_made_record import made_record


@pytest.fixture(scope="module")
def written() -> bytes:
    return b"".join(WRITERS["xlsx"].write(made_record(), ALONE))


def test_cells_have_the_type_of_their_column(written):
    rows = list(workbook(written)["Measurements"].iter_rows())
    names = [cell.value for cell in rows[0]]
    kinds = {
        "value": "n",
        "lower": "n",
        "upper": "n",
        "measured_at": "d",
        "complete": "b",
        "note": "s",
    }
    for row in rows[1:]:
        for name, cell in zip(names, row, strict=True):
            if cell.value is not None and name in kinds:
                assert cell.data_type == kinds[name], (name, cell.value)


def test_heads_stay_in_sight_and_the_table_can_be_filtered(written):
    sheet = workbook(written)["Measurements"]
    assert sheet.freeze_panes == "B2"
    assert sheet.auto_filter.ref.startswith("A1:")


def test_every_status_has_a_shape_and_a_colour(written):
    sheet = workbook(written)["Measurements"]
    rules = [rule for area in sheet.conditional_formatting for rule in area.rules]
    shapes = {rule.dxf.numFmt.formatCode for rule in rules}
    paints = {rule.dxf.font.color.rgb for rule in rules}
    assert len(rules) == len(shapes) == len(paints) == 5


def test_bores_and_runouts_are_drawn_from_the_cells_they_stand_in(written):
    with zipfile.ZipFile(BytesIO(written)) as book:
        charts = [book.read(name).decode() for name in book.namelist() if "charts/chart" in name]
    titles = " ".join(charts)
    assert "valve stem runout" in titles
    assert "guide diameter" in titles
    assert all("Figures!" in chart and "<c:f>" in chart for chart in charts)


def test_a_large_record_is_written_row_by_row_and_says_the_same(written, monkeypatch):
    monkeypatch.setattr("api.export.xlsx.ROWS_IN_MEMORY_MAX", 0)
    again = b"".join(WRITERS["xlsx"].write(made_record(), ALONE))
    rows = [[cell.value for cell in row] for row in workbook(written)["Measurements"].iter_rows()]
    assert [[c.value for c in row] for row in workbook(again)["Measurements"].iter_rows()] == rows


@pytest.mark.parametrize(
    "gone", [{"status": Status.VOID, "void_reason": "slipped"}, {"superseded": True}]
)
def test_what_does_not_count_is_in_the_table_and_in_no_drawing(gone):
    view = made_record()
    m = next(m for m in view.measurements if m.characteristic == "guide.diameter")
    odd = Decimal("6.6666")
    for update in ({"value": odd}, {"value": odd, **gone}):
        changed = m.model_copy(update=update)
        ms = tuple(changed if each is m else each for each in view.measurements)
        other = view.model_copy(update={"measurements": ms})
        book = workbook(b"".join(WRITERS["xlsx"].write(other, ALONE)))
        held = {
            name: float(odd) in [cell.value for row in book[name].iter_rows() for cell in row]
            for name in ("Measurements", "Figures")
        }
        assert held == {"Measurements": True, "Figures": gone.keys() - update.keys() != set()}
        pages = " ".join(pdf_pages(b"".join(WRITERS["pdf"].write(other, ALONE))))
        assert ("least 6.6666" in pages) == held["Figures"]

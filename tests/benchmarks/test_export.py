"""What a format costs beside what its bare library needs for the same pages, elements and rows.

Run with `-s` to see the ratios. Each baseline is measured in the same run.
"""

import csv
import json
import time
import tracemalloc
from importlib import resources

import pypdfium2
import pytest
import typst
from lxml import etree

from api.export import ALONE, WRITERS
from api.export.columns import COLUMNS, cells
from api.export.csv import write_rows
from api.export.qif.document import document
from api.export.sheet import TEMPLATE
from api.export.sheet.content import content
from api.export.sheet.letters import attempts
from daq.head.layout import Layout
from daq.head.view import record_view
from tests.generators.a_made_record import made

ROWS = 1_000_000
CSV_SHARE_MIN = 0.5
PDF_TIMES_MOST = 2.0
QIF_TIMES_MOST = 4.0
STREAM_BYTES_MOST = 8 * 1024 * 1024


@pytest.fixture(scope="module")
def view():
    """A job of sixteen valves, all measured (invented)."""
    return record_view(made(Layout(cylinders=4, intake=2, exhaust=2), positions_measured=16).record)


def best_s(act, times=5) -> float:
    found = []
    for _ in range(times):
        # Of this process alone: what else runs on the machine is not the writer's doing.
        begun = time.process_time()
        act()
        found.append(time.process_time() - begun)
    return min(found)


def test_a_million_measurements_to_csv(view, tmp_path):
    rows = [cells(view.job, m) for m in view.measurements]
    share = ROWS // len(rows) + 1
    file = tmp_path / "table.csv"

    def bare():
        with file.open("w", newline="", encoding="utf-8") as out:
            writer = csv.writer(out, lineterminator="\r\n")
            writer.writerow([column.name for column in COLUMNS])
            for _ in range(share):
                writer.writerows(rows)

    def ours():
        many = ((view.job, m) for _ in range(share) for m in view.measurements)
        with file.open("wb") as out:
            out.writelines(write_rows(many))

    ratio = best_s(bare, 2) / best_s(ours, 2)
    print(f"\nCSV: {share * len(rows)} rows at {ratio:.2f} of the speed of bare csv.writer")
    assert ratio >= CSV_SHARE_MIN


def test_memory_stays_flat_while_a_table_streams(view):
    many = ((view.job, m) for _ in range(200) for m in view.measurements)
    tracemalloc.start()
    total = sum(len(chunk) for chunk in write_rows(many))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    print(f"\nCSV: {total / 1e6:.0f} MB streamed within {peak / 1e6:.2f} MB")
    assert total > 5 * peak
    assert peak < STREAM_BYTES_MOST


def test_the_sheet_of_sixteen_valves(view):
    source = (resources.files("api.export.sheet") / TEMPLATE).read_bytes()
    data, fonts = next(attempts(content(view, ALONE)))
    attached = b"".join(WRITERS["qif"].write(view, ALONE)).decode()
    inputs = {"data": json.dumps(data, ensure_ascii=False), "attached": attached}

    def bare():
        """The same pages, everything on them ready, made by typst alone."""
        compiler = typst.Compiler(source, font_paths=fonts, sys_inputs=inputs)
        compiler.compile(format="pdf", pdf_standards=["a-3b"], timestamp=0)

    def ours():
        b"".join(WRITERS["pdf"].write(view, ALONE))

    pages = len(pypdfium2.PdfDocument(b"".join(WRITERS["pdf"].write(view, ALONE))))
    ours_s, bare_s = best_s(ours), best_s(bare)
    print(
        f"\nPDF: {pages} pages in {ours_s * 1000:.0f} ms, {ours_s / bare_s:.2f} times bare typst "
        "on the same pages"
    )
    assert ours_s / bare_s <= PDF_TIMES_MOST


def test_the_qif_of_sixteen_valves(view):
    tree = document(view)
    plan = [(e.tag, dict(e.attrib), e.text, len(e)) for e in tree.iter()]

    def bare():
        """The same elements, attributes and texts, made by lxml alone."""
        at = iter(plan)

        def grow(parent):
            tag, attributes, text, children = next(at)
            made_ = etree.Element(tag, attributes) if parent is None else etree.SubElement(
                parent, tag, attributes
            )  # fmt: skip
            made_.text = text
            for _ in range(children):
                grow(made_)
            return made_

        etree.tostring(grow(None), xml_declaration=True, encoding="UTF-8", pretty_print=True)

    def ours():
        b"".join(WRITERS["qif"].write(view, ALONE))

    ours_s, bare_s = best_s(ours), best_s(bare)
    print(
        f"\nQIF: {len(plan)} elements in {ours_s * 1000:.0f} ms, {ours_s / bare_s:.1f} times bare "
        "lxml with the same elements"
    )
    assert ours_s / bare_s <= QIF_TIMES_MOST

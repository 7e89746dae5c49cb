"""The table opened by its own description, with a library of that standard; hostile cells too."""

import csv as stdlib_csv
import io
from decimal import Decimal

from csvw.metadata import Table
from hypothesis import given, settings

from api.export import ALONE, DESCRIPTION, WRITERS
from api.export.columns import COLUMNS, cells
from api.export.figures import with_figures
from tests.api.export.readers import csv_rows
from tests.api.export.test_every_quantity import MANY
from tests.generators.a_made_record import made_record
from tests.generators.a_record import records

FORMULA = ("=", "+", "-", "@", "\t", "\r")


def test_the_description_opens_the_table(tmp_path):
    view = made_record()
    table = tmp_path / "record.csv"
    table.write_bytes(b"".join(WRITERS["csv"].write(view, ALONE)))
    described = tmp_path / f"record.csv{DESCRIPTION}"
    described.write_bytes(WRITERS["csv"].describe(table.name))
    found = Table.from_file(described)
    assert [str(key) for key in found.tableSchema.primaryKey] == ["measurement_id"]
    rows = list(found.iterdicts(strict=True))
    values = with_figures(view).measurements
    assert len(rows) == len(values) > len(view.measurements)
    for row, m in zip(rows, values, strict=True):
        assert row["value"] == m.value
        assert isinstance(row["value"], Decimal)
        assert row["complete"] is m.complete
        assert row["take"] == m.take
        assert row["measured_at"].utcoffset().total_seconds() == 0


@settings(parent=MANY, max_examples=40)
@given(view=records())
def test_two_readers_see_the_same_cells_and_none_is_a_formula(view):
    data = b"".join(WRITERS["csv"].write(view, ALONE))
    ours = csv_rows(data)
    theirs = list(stdlib_csv.DictReader(io.StringIO(data.decode(), newline="")))
    assert ours == theirs
    free = [column.name for column in COLUMNS if column.free]
    for row, m in zip(ours, with_figures(view).measurements, strict=True):
        assert not any(row[name].startswith(FORMULA) for name in free)
        for column, cell in zip(COLUMNS, cells(view.job, m), strict=True):
            if column.free and cell:
                assert row[column.name].removeprefix("'") == str(cell).removeprefix("'")
            elif column.datatype == "decimal" and cell is not None:
                assert row[column.name] == format(cell, "f")

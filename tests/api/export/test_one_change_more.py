"""One change, piece by piece: units, figures, the bundle and the labels. Invented record."""

import re
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.export import ALONE, WRITERS
from api.export.figures import figure_id
from tests.api.export.readers import NUMERIC, READERS, as_numbers, members, pdf_pages
from tests.api.export.test_every_quantity import MANY
from tests.api.export.test_one_change import BEFORE, CHANGES, VIEW, apply, bumped, candidates

BUNDLE = b"".join(WRITERS["bundle"].write(VIEW, ALONE))
LABELS = b"".join(WRITERS["labels"].write(VIEW, ALONE))
STATING = {
    "record.pdf", "record.xlsx", "record.csv", "record.json", "record.qif", "record.parquet",
}  # fmt: skip


def written(name, view) -> bytes:
    return b"".join(WRITERS[name].write(view, ALONE))


def differing(before, after) -> list[str]:
    assert before.keys() == after.keys()
    return [address for address in before if before[address] != after[address]]


@pytest.mark.parametrize("name", ["csv", "parquet", "json"])
@settings(parent=MANY, max_examples=6)
@given(data=st.data())
def test_a_unit_is_one_cell(name, data):
    m = data.draw(st.sampled_from(candidates("unit")))
    view, (id_,) = apply("unit", m)
    found = differing(READERS[name].atoms(BEFORE[name]), READERS[name].atoms(written(name, view)))
    (address,) = found
    assert id_ in address
    assert address.endswith("/unit")


@settings(parent=MANY, max_examples=6)
@given(data=st.data())
def test_in_a_workbook_a_unit_is_the_cell_of_its_row_and_the_name_of_its_drawing(data):
    view, (id_,) = apply("unit", data.draw(st.sampled_from(candidates("unit"))))
    before, after = (
        READERS["xlsx"].atoms(each) for each in (BEFORE["xlsx"], written("xlsx", view))
    )
    found = differing(before, after)
    (cell,) = [address for address in found if address.startswith("Measurements!")]
    column, row = re.fullmatch(r"Measurements!([A-Z]+)(\d+)", cell).groups()
    assert before[f"Measurements!{column}1"].startswith("unit ")
    assert before[f"Measurements!A{row}"].startswith(id_)
    assert all(address.startswith("Figures!") for address in found if address != cell)
    assert len(found) <= 2


@pytest.mark.parametrize("name", [name for name in BEFORE if name != "labels"])
@settings(parent=MANY, max_examples=3)
@given(data=st.data())
def test_a_figure_of_a_part_changes_alone(name, data):
    shape = data.draw(st.sampled_from(VIEW.shapes))
    figure = data.draw(st.sampled_from(shape.figures))
    other = figure.model_copy(update={"value": bumped(figure.value)})
    figures = tuple(other if each is figure else each for each in shape.figures)
    shapes = tuple(
        each.model_copy(update={"figures": figures}) if each is shape else each
        for each in VIEW.shapes
    )
    view = VIEW.model_copy(update={"shapes": shapes})
    before = READERS[name].facts(BEFORE[name])
    after = READERS[name].facts(written(name, view))
    if name in NUMERIC:
        before, after = as_numbers(before), as_numbers(after)
    found = {
        (id_, key) for id_ in before for key in before[id_] if before[id_][key] != after[id_][key]
    }
    id_ = figure_id(VIEW.job.id, shape.position, shape.part, figure.name)
    assert found == {(id_, "value")}


@pytest.mark.parametrize("kind", CHANGES)
def test_in_a_bundle_the_members_that_state_it_change_with_their_sums_and_no_other(kind):
    m = candidates(kind)[0]
    view, ids = apply(kind, m)
    data = written("bundle", view)
    before, after = members(BUNDLE), members(data)
    assert set(differing(before, after)) == STATING | {"SHA256SUMS"}
    lines = [set(each["SHA256SUMS"].decode().splitlines()) for each in (before, after)]
    assert {line.split("  ")[1] for line in lines[0] ^ lines[1]} == STATING
    facts = [READERS["bundle"].facts(each) for each in (BUNDLE, data)]
    assert {id_ for id_ in facts[0] if facts[0][id_] != facts[1][id_]} == ids


@pytest.mark.parametrize("kind", CHANGES)
def test_labels_state_no_value_so_none_changes_them(kind):
    view, _ = apply(kind, candidates(kind)[0])
    assert written("labels", view) == LABELS


@pytest.mark.parametrize("name", ["number", "head_serial", "customer"])
def test_on_labels_exactly_the_word_that_was_changed_changes(name):
    job = VIEW.job.model_copy(update={name: "Changedword"})
    after = written("labels", VIEW.model_copy(update={"job": job}))
    words = [Counter(" ".join(pdf_pages(each)).split()) for each in (LABELS, after)]
    gone, come = words[0] - words[1], words[1] - words[0]
    assert come == {"Changedword": len(VIEW.decisions)}
    assert gone == Counter(getattr(VIEW.job, name).split() * len(VIEW.decisions))

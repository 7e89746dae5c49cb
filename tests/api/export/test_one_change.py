"""Change one thing, and exactly what states it changes, in every format. Invented record."""

from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.export import ALONE, WRITERS
from daq.head.measurement import Limits, Measurement, Status
from tests.api.export.readers import NUMERIC, READERS, as_numbers, pdf_pages
from tests.api.export.test_every_quantity import MANY
from tests.generators.a_made_record import made_record

FORMATS = [name for name in WRITERS if name not in {"bundle", "labels"}]
VIEW = made_record()
BEFORE = {name: b"".join(WRITERS[name].write(VIEW, ALONE)) for name in FORMATS}


class Change(NamedTuple):
    """fact: what of a measurement it changes. of: which ones, given one. to: the changed one."""

    fact: str
    of: Callable[[Measurement, Measurement], bool]
    to: Callable[[Measurement], Measurement]


def bumped(value: Decimal) -> Decimal:
    return value + Decimal(1).scaleb(value.as_tuple().exponent)


def changed(m: Measurement, **what) -> Measurement:
    return m.model_copy(update=what)


def _limits(m: Measurement) -> Limits:
    upper = m.limits.upper
    return Limits(
        lower=m.limits.lower if upper is not None else m.limits.lower - Decimal("0.001"),
        upper=None if upper is None else bumped(upper),
    )


def _one(m, other):
    return m is other


CHANGES = {
    "value": Change("value", _one, lambda m: changed(m, value=bumped(m.value))),
    "uncertainty": Change(
        "uncertainty", _one, lambda m: changed(m, uncertainty=bumped(m.uncertainty))
    ),
    # One limit is stated once, for all that it holds for.
    "limit": Change(
        "limits",
        lambda m, other: (m.characteristic, m.limits) == (other.characteristic, other.limits),
        lambda m: changed(m, limits=_limits(m)),
    ),
    "unit": Change("unit", _one, lambda m: changed(m, unit="N")),
    "void": Change("status", _one, lambda m: changed(m, status=Status.VOID, void_reason="tested")),
    "gauge": Change(
        "gauge_serial",
        lambda m, other: m.gauge == other.gauge,
        lambda m: changed(m, gauge_serial="G-9999"),
    ),
}


def candidates(kind: str) -> list[Measurement]:
    return [
        m
        for m in VIEW.measurements
        if m.status is not Status.VOID
        and not (kind == "limit" and m.limits is None)
        and not (kind == "gauge" and m.gauge is None)
        and not (kind == "unit" and m.status is Status.PASS)
    ]


def apply(kind: str, m: Measurement):
    change = CHANGES[kind]
    touched = [each for each in VIEW.measurements if change.of(each, m)]
    ids = {each.id for each in touched}
    view = VIEW.model_copy(
        update={
            "measurements": tuple(
                change.to(each) if each.id in ids else each for each in VIEW.measurements
            )
        }
    )
    return view, ids


@pytest.mark.parametrize("kind", CHANGES)
@pytest.mark.parametrize("name", FORMATS)
@settings(parent=MANY, max_examples=4)
@given(data=st.data())
def test_the_facts_that_change_are_those_that_were_changed(name, kind, data):
    view, ids = apply(kind, data.draw(st.sampled_from(candidates(kind))))
    before = READERS[name].facts(BEFORE[name])
    after = READERS[name].facts(b"".join(WRITERS[name].write(view, ALONE)))
    if name in NUMERIC:
        before, after = as_numbers(before), as_numbers(after)
    found = {
        (id_, key) for id_ in before for key in before[id_] if before[id_][key] != after[id_][key]
    }
    wanted = CHANGES[kind].fact
    keys = {key for _, key in found}
    assert {id_ for id_, _ in found} == ids
    assert keys == {wanted} if wanted != "limits" else keys < {"lower", "upper"}


# How many pieces of a file state one value, beside the drawing of it.
STATED = {"csv": 1, "json": 1, "parquet": 1, "qif": 1}


@pytest.mark.parametrize("name", STATED)
@settings(parent=MANY, max_examples=6)
@given(data=st.data())
def test_one_value_is_stated_in_one_place(name, data):
    view, (id_,) = apply("value", data.draw(st.sampled_from(candidates("value"))))
    before = READERS[name].atoms(BEFORE[name])
    after = READERS[name].atoms(b"".join(WRITERS[name].write(view, ALONE)))
    found = [address for address in before if before[address] != after.get(address)]
    assert before.keys() == after.keys()
    assert len(found) == STATED[name], found
    if name != "qif":
        assert id_ in found[0]


@settings(parent=MANY, max_examples=6)
@given(data=st.data())
def test_a_workbook_states_a_value_in_the_table_and_where_it_is_drawn(data):
    view, _ = apply("value", data.draw(st.sampled_from(candidates("value"))))
    before = READERS["xlsx"].atoms(BEFORE["xlsx"])
    after = READERS["xlsx"].atoms(b"".join(WRITERS["xlsx"].write(view, ALONE)))
    sheets = [a.partition("!")[0] for a in before if before[a] != after.get(a)]
    assert sheets in (["Measurements"], ["Measurements", "Figures"])


@settings(parent=MANY, max_examples=10)
@given(data=st.data())
def test_on_paper_only_the_words_of_the_value_change(data):
    m = data.draw(st.sampled_from(candidates("value")))
    view, _ = apply("value", m)
    before = Counter(" ".join(pdf_pages(BEFORE["pdf"])).split())
    after = Counter(" ".join(pdf_pages(b"".join(WRITERS["pdf"].write(view, ALONE)))).split())
    old, new = format(abs(m.value), "f"), format(abs(bumped(m.value)), "f")
    gone, come = before - after, after - before
    # In its row, and where it is the least or the most of its bore, under the drawing.
    assert {word.strip(",") for word in gone} <= {old}
    assert {word.strip(",") for word in come} <= {new}
    assert sum(gone.values()) == sum(come.values()) >= 1


def test_on_paper_a_void_leaves_the_row_and_stands_with_its_reason():
    m = next(m for m in candidates("void") if m.status is Status.PASS and not m.superseded)
    view, _ = apply("void", m)
    text = " ".join(pdf_pages(b"".join(WRITERS["pdf"].write(view, ALONE))))
    assert text.count("✓ proven in") == " ".join(pdf_pages(BEFORE["pdf"])).count("✓ proven in") - 1
    assert "⊘ tested" in text

"""Every quantity in every format equals the record, whatever the record holds."""

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from api.export import ALONE, WRITERS
from tests.api.export.readers import NUMERIC, READERS, as_numbers, facts_of
from tests.generators.a_record import records

# Not shrunk: a workbook written a thousand times over takes minutes to say little more.
MANY = settings(
    max_examples=15,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.generate,),
)


def test_every_format_has_a_reader_that_is_not_ours():
    assert set(READERS) == set(WRITERS) - {"labels"}, "labels name parts, not values"


# The bundle holds the others and is walked once, by the contract.
@pytest.mark.parametrize("name", [name for name in WRITERS if name not in {"bundle", "labels"}])
@MANY
@given(data=st.data())
def test_every_quantity_equals_the_record(name, data):
    view = data.draw(records())
    written = b"".join(WRITERS[name].write(view, ALONE))
    assert b"".join(WRITERS[name].write(view, ALONE)) == written, "the same record, other bytes"
    expected, found = facts_of(view), READERS[name].facts(written)
    if name in NUMERIC:
        expected, found = as_numbers(expected), as_numbers(found)
    assert found == expected

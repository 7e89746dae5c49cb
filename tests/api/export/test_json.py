"""The JSON document keeps to its published schema, and carries the chain that proves it."""

import json
from pathlib import Path

from hypothesis import given, settings
from jsonschema import Draft202012Validator

from api.export import ALONE, WRITERS
from api.export.json import schema
from daq.head.record import GENESIS_HASH, Entry, EntryKind, is_whole
from daq.head.view import RecordView
from tests.api.export.test_every_quantity import MANY
from tests.generators.a_made_record import made
from tests.generators.a_record import records

PUBLISHED = Path(__file__).parents[3] / "docs/record.schema.json"


def test_the_published_schema_is_the_one_the_models_give():
    assert PUBLISHED.read_bytes() == schema(), "write api.export.json.schema() to docs again"


@settings(parent=MANY, max_examples=10)
@given(view=records())
def test_every_document_keeps_to_the_schema(view):
    validator = Draft202012Validator(json.loads(schema()))
    document = json.loads(b"".join(WRITERS["json"].write(view, ALONE)))
    validator.validate(document)
    if document["measurements"]:
        document["measurements"][0]["status"] = "GOOD"
        assert list(validator.iter_errors(document)), "a schema that takes anything says nothing"


def test_what_was_written_reads_back_whole():
    writing = made()
    view = _view(writing)
    document = b"".join(WRITERS["json"].write(view, ALONE))
    assert RecordView.model_validate_json(document) == view
    previous = GENESIS_HASH
    for line in json.loads(document)["entries"]:
        entry = Entry(job=view.job.id, **{**line, "kind": EntryKind(line["kind"])})
        assert is_whole(entry, previous=previous)
        previous = entry.hash
    assert previous == view.head.hash


def _view(writing):
    from daq.head.view import record_view

    return record_view(writing.record)

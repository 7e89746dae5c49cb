"""What a sheet claims of itself is so, as far as its objects tell, and the check finds what is not.

No validator of the whole standard can be had from the package registries, so the rules that can
be read off are written down in `pdf_a`.
"""

import io

import pytest
import typst
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, FloatObject, NameObject, TextStringObject

from api.export import ALONE, WRITERS, Given
from daq.head.view import RecordView
from tests.api.export.pdf_a import faults
from tests.generators.a_made_record import made_record

SCRIPTS = "田中 / Ελένη / Вероника / محمد علي"


@pytest.fixture(scope="module")
def view() -> RecordView:
    made = made_record()
    return made.model_copy(update={"job": made.job.model_copy(update={"customer": SCRIPTS})})


@pytest.fixture(scope="module")
def sheet(view) -> bytes:
    return b"".join(WRITERS["pdf"].write(view, ALONE))


@pytest.mark.parametrize("wishes", [ALONE, Given(paper="us-letter", length="in")])
def test_the_sheet_keeps_the_rules(view, wishes):
    assert faults(b"".join(WRITERS["pdf"].write(view, wishes)), attached="record.qif") == []


def test_labels_keep_them_too(view):
    assert faults(b"".join(WRITERS["labels"].write(view, ALONE))) == []


def test_pages_made_without_the_standard_are_found_out(tmp_path):
    plain = tmp_path / "plain.typ"
    plain.write_text("#set text(fill: rgb(0, 0, 0, 50%))\nseen through")
    found = faults(typst.compile(plain, format="pdf"), attached="record.qif")
    assert any("XMP claims" in each for each in found)
    assert "there is not one output intent of PDF/A" in found
    assert any("seen through" in each for each in found)
    assert "associated are []" in found


def _script(writer):
    act = {"/S": NameObject("/JavaScript"), "/JS": TextStringObject("app.alert(1)")}
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(
        {NameObject(key): value for key, value in act.items()}
    )


def _seen_through(writer):
    state = DictionaryObject({NameObject("/ca"): FloatObject(0.5)})
    writer._add_object(state)


def _unembedded(writer):
    for each in writer._objects:
        if isinstance(each, DictionaryObject) and each.get("/Type") == "/FontDescriptor":
            for key in ("/FontFile2", "/FontFile3"):
                each.pop(key, None)


def _unrelated(writer):
    (file,) = writer.root_object["/AF"]
    del file.get_object()["/AFRelationship"]


def _colourless(writer):
    del writer.root_object["/OutputIntents"]


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (_script, "a script"),
        (_seen_through, "seen through"),
        (_unembedded, "is not embedded"),
        (_unrelated, "does not say that it is the data"),
        (_colourless, "output intent"),
    ],
)
def test_each_rule_that_is_broken_is_found(sheet, spoil, said):
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(sheet)))
    spoil(writer)
    spoiled = io.BytesIO()
    writer.write(spoiled)
    assert any(said in each for each in faults(spoiled.getvalue(), attached="record.qif"))


def test_an_encrypted_copy_is_found(sheet):
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(sheet)))
    writer.encrypt("", algorithm="RC4-128")
    locked = io.BytesIO()
    writer.write(locked)
    assert "the file is encrypted" in faults(locked.getvalue(), attached="record.qif")

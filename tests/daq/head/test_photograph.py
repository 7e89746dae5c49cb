"""Photographs: what is a picture is seen from its bytes, and what it shows has to be there."""

import hashlib

import pytest

from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.photograph import BYTES_MOST, Photographed, photographed
from daq.head.plan import shipped_plans
from tests.generators.books import Book
from tests.generators.pictures import jpeg, png


@pytest.fixture
def book():
    return Book(shipped_plans()["four-by-two"])


@pytest.mark.parametrize(
    ("picture", "media_type", "suffix"),
    [(jpeg(), "image/jpeg", ".jpg"), (png(), "image/png", ".png")],
)
def test_the_record_names_the_picture_by_its_hash(book, picture, media_type, suffix):
    asked = Photographed(picture, "3E", "valve", "A. Person", "burnt at the rim")
    draft = photographed(book.record, asked)
    assert draft.photograph is picture
    book.add(draft)
    (shown,) = book.view.photographs
    assert shown.file_name == hashlib.sha256(picture).hexdigest() + suffix
    assert (shown.media_type, shown.size_bytes) == (media_type, len(picture))
    assert (shown.position, shown.part, shown.person) == ("3E", "valve", "A. Person")
    assert shown.note == "burnt at the rim"


@pytest.mark.parametrize(
    ("picture", "said"),
    [
        (b"", "no picture in JPEG or PNG"),
        (b"GIF89a" + bytes(20), "no picture in JPEG or PNG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture in JPEG or PNG"),
        (jpeg()[:-2], "cut off before its end"),
        (png()[:-4], "cut off before its end"),
        (jpeg() + bytes(BYTES_MOST), "larger than 8 MB"),
    ],
)
def test_what_is_no_whole_picture_is_refused(book, picture, said):
    with pytest.raises(RefusedError, match=said):
        photographed(book.record, Photographed(picture))


@pytest.mark.parametrize(
    ("position", "part", "kind", "said"),
    [
        ("9E", None, UnknownError, "no position '9E'"),
        ("3E", "piston", UnknownError, "no part 'piston'"),
        (None, "valve", RefusedError, "needs a position like '1I'"),
        ("head", "valve", RefusedError, "needs a position like '1I'"),
        ("3E", "head", RefusedError, "needs a position like 'head'"),
    ],
)
def test_what_it_shows_has_to_be_there(book, position, part, kind, said):
    with pytest.raises(kind, match=said):
        photographed(book.record, Photographed(png(), position, part))


def test_one_picture_may_show_two_parts_but_each_once(book):
    for part in ("valve", "seat"):
        book.add(photographed(book.record, Photographed(png(), "1I", part)))
    with pytest.raises(ConflictError, match="in the record already"):
        photographed(book.record, Photographed(png(), "1I", "seat"))
    assert [each.part for each in book.view.photographs] == ["valve", "seat"]


def test_a_picture_decides_nothing(book):
    before = book.view.decisions
    book.add(photographed(book.record, Photographed(png(), "head", "head")))
    assert book.view.decisions == before

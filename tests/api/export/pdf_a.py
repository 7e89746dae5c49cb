"""Rules of PDF/A-3b (ISO 19005-3) that can be read off a file's objects with a library of PDF.

Not all of them: nothing here looks into content streams or font programs.
"""

import io
from collections.abc import Iterator
from datetime import UTC, datetime

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject, StreamObject

FORBIDDEN_KEYS = {
    "/JS": "a script", "/AA": "an act by itself", "/OpenAction": "an act by itself",
    "/XFA": "a form program", "/Encrypt": "encryption", "/PS": "PostScript",
    "/FFilter": "a stream from elsewhere", "/TR": "a transfer function",
    "/Alternates": "another image",
}  # fmt: skip
FORBIDDEN_VALUES = {
    "/S": {"/JavaScript", "/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData", "/Hide"},
    "/Filter": {"/LZWDecode", "/Crypt"},
    "/Subtype": {"/PS", "/Movie", "/Sound", "/Screen", "/3D"},
}
# Transparency is allowed with a blending space; the pages need none.
OPAQUE = {"/BM": {"/Normal", "/Compatible"}, "/CA": {"1", "1.0"}, "/ca": {"1", "1.0"}}


def faults(data: bytes, attached: str | None = None) -> list[str]:
    """One line a rule that is broken. attached: the file that has to go along."""
    reader = PdfReader(io.BytesIO(data))
    root = reader.trailer["/Root"]
    objects = list(_objects(reader))
    return [
        *_frame(data, reader, root),
        *_claims(reader, root),
        *_colours(root),
        *(fault for each in objects for fault in _forbidden(each)),
        *(fault for each in objects for fault in _font(each)),
        *_attachment(root, attached),
    ]


def _objects(reader: PdfReader) -> Iterator[DictionaryObject]:
    """Every dictionary, those within others too."""
    reader.trailer["/Root"].get_object()
    numbers = {n for generation in reader.xref.values() for n in generation} | set(
        reader.xref_objStm
    )
    for number in sorted(numbers):
        yield from _within(reader.get_object(number))


def _within(value) -> Iterator[DictionaryObject]:
    if isinstance(value, DictionaryObject):
        yield value
        for each in value.values():
            if not isinstance(each, IndirectObject):
                yield from _within(each)
    elif isinstance(value, list):
        for each in value:
            if not isinstance(each, IndirectObject):
                yield from _within(each)


def _frame(data: bytes, reader: PdfReader, root) -> Iterator[str]:
    lines = data[:32].split(b"\n")
    if not lines[0].startswith(b"%PDF-1.") or sum(byte > 127 for byte in lines[1][1:5]) < 4:
        yield "the head does not say a version of PDF 1 and that the file is binary"
    if "/ID" not in reader.trailer:
        yield "the file has no ID"
    if "/Encrypt" in reader.trailer:
        yield "the file is encrypted"
    if not data.rstrip(b"\r\n").endswith(b"%%EOF"):
        yield "something stands behind the end"


def _claims(reader: PdfReader, root) -> Iterator[str]:
    said = reader.xmp_metadata
    if said is None:
        yield "there is no XMP metadata"
        return
    if (said.pdfaid_part, said.pdfaid_conformance) != ("3", "B"):
        yield f"XMP claims part {said.pdfaid_part}, conformance {said.pdfaid_conformance}"
    about = reader.metadata
    if about.title != (said.dc_title or {}).get("x-default"):
        yield "XMP and the document information have different titles"
    made = said.xmp_create_date
    if about.creation_date and _utc(made) != _utc(about.creation_date):
        yield "XMP and the document information have different dates"


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC)


def _colours(root) -> Iterator[str]:
    intents = [each.get_object() for each in root.get("/OutputIntents", [])]
    profiles = [each["/DestOutputProfile"] for each in intents if each["/S"] == "/GTS_PDFA1"]
    if len(profiles) != 1:
        yield "there is not one output intent of PDF/A"
        return
    profile = profiles[0].get_data()
    kinds = {b"GRAY": 1, b"RGB ": 3, b"CMYK": 4}
    if profile[36:40] != b"acsp" or kinds.get(profile[16:20]) != profiles[0]["/N"]:
        yield "the output intent has no ICC profile of its number of colours"


def _forbidden(each: DictionaryObject) -> Iterator[str]:
    yield from (f"{what} ({key})" for key, what in FORBIDDEN_KEYS.items() if key in each)
    if isinstance(each, StreamObject) and "/F" in each:
        yield "a stream from elsewhere (/F)"
    for key, values in FORBIDDEN_VALUES.items():
        found = each.get(key)
        names = found if isinstance(found, list) else [found]
        yield from (f"{key} is {name}" for name in names if str(name) in values)
    for key, values in OPAQUE.items():
        if key in each and str(each[key]) not in values:
            yield f"{key} is {each[key]}, which is seen through"
    if str(each.get("/SMask", "/None")) != "/None":
        yield "a soft mask, which is seen through"
    if each.get("/Type") == "/Annot" and not int(each.get("/F", 0)) & 4:
        yield "an annotation that is not printed"


def _font(each: DictionaryObject) -> Iterator[str]:
    if each.get("/Type") != "/Font":
        return
    name = each.get("/BaseFont")
    if each["/Subtype"] == "/Type0":
        if "/ToUnicode" not in each:
            yield f"font {name} does not say its letters"
        return
    descriptor = each.get("/FontDescriptor", {})
    if not {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor):
        yield f"font {name} is not embedded"
    if each["/Subtype"] == "/CIDFontType2" and "/CIDToGIDMap" not in each:
        yield f"font {name} does not say which shapes it means"


def _attachment(root, attached: str | None) -> Iterator[str]:
    files = [each.get_object() for each in root.get("/AF", [])]
    names = [each["/UF"] for each in files]
    if names != ([] if attached is None else [attached]):
        yield f"associated are {names}"
    for file in files:
        inner = file["/EF"]["/F"]
        if file.get("/AFRelationship") != "/Data" or file.get("/F") != file["/UF"]:
            yield "the attached file does not say that it is the data of the pages"
        if inner.get("/Subtype") != "/application/xml" or "/ModDate" not in inner["/Params"]:
            yield "the attached file does not say its kind and date"

"""Photographs of a job or of one of its parts, as its record knows them.

The picture itself lies in a file named by its hash; the record says which, of what, by whom.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, get_args

from pydantic import BaseModel, ConfigDict

from daq.head.catalogue.about import Part
from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.keeping import check_position
from daq.head.layout import HEAD
from daq.head.record import Draft, Entry, EntryKind, Record

MediaType = Literal["image/jpeg", "image/png"]
BYTES_MOST = 8 * 1024 * 1024
# How a file of each kind begins, and what stands at its end (ISO/IEC 10918-1: SOI and EOI;
# ISO/IEC 15948: the signature and the IEND chunk).
_BEGINS: dict[MediaType, bytes] = {
    "image/jpeg": b"\xff\xd8\xff",
    "image/png": b"\x89PNG\r\n\x1a\n",
}
_ENDS: dict[MediaType, bytes] = {"image/jpeg": b"\xff\xd9", "image/png": b"IEND\xaeB`\x82"}
_SUFFIXES: dict[MediaType, str] = {"image/jpeg": ".jpg", "image/png": ".png"}


class Photograph(BaseModel):
    """One photograph. sha256: of the file, byte for byte as it came; position, part: what it
    shows, None for the job as a whole."""

    model_config = ConfigDict(frozen=True)

    id: str
    at: str
    sha256: str
    size_bytes: int
    media_type: MediaType
    position: str | None
    part: Part | None
    person: str | None
    note: str | None

    @property
    def file_name(self) -> str:
        """What its file is called, in a data folder and in a bundle."""
        return file_name_of(self.sha256, self.media_type)


@dataclass(frozen=True, slots=True)
class Photographed:
    """A picture to be kept. position, part: what it shows; None for the job as a whole."""

    picture: bytes
    position: str | None = None
    part: str | None = None
    person: str | None = None
    note: str | None = None


def file_name_of(sha256: str, media_type: MediaType) -> str:
    """What the file of a picture is called: its hash, and what opens it."""
    return sha256 + _SUFFIXES[media_type]


def photographed(record: Record, asked: Photographed) -> Draft:
    """The draft that keeps a picture. Raises RefusedError, UnknownError, ConflictError."""
    media_type = _media_type(asked.picture)
    _check_what_it_shows(record, asked)
    sha256 = hashlib.sha256(asked.picture).hexdigest()
    what = (sha256, asked.position, asked.part)
    if any((p.sha256, p.position, p.part) == what for p in photographs_of(record)):
        raise ConflictError("that picture is in the record already, of the same part")
    return Draft(
        record.job,
        EntryKind.PHOTOGRAPHED,
        {
            "sha256": sha256,
            "size_bytes": len(asked.picture),
            "media_type": media_type,
            "position": asked.position,
            "part": asked.part,
            "person": asked.person,
            "note": asked.note,
        },
        photograph=asked.picture,
    )


def photographs_of(record: Record) -> Iterator[Photograph]:
    """Every photograph of a job, oldest first."""
    for entry in record.of_kind(EntryKind.PHOTOGRAPHED):
        yield photograph_of(entry)


def photograph_of(entry: Entry) -> Photograph:
    """The photograph that an entry speaks of."""
    return Photograph.model_validate({**entry.body, "id": entry.id, "at": entry.at})


def photograph_in(record: Record, photograph: str) -> Photograph:
    """The photograph with that id. Raises UnknownError."""
    for found in photographs_of(record):
        if found.id == photograph:
            return found
    raise UnknownError(f"job {record.opening['number']} has no photograph {photograph!r}")


def _media_type(picture: bytes) -> MediaType:
    """What the picture is by its own bytes, whatever it was called on the way."""
    if len(picture) > BYTES_MOST:
        raise RefusedError(
            f"the picture is larger than {BYTES_MOST // 1024 // 1024} MB; take it with a smaller "
            "size"
        )
    for media_type, begins in _BEGINS.items():
        if picture.startswith(begins):
            if _ENDS[media_type] not in picture:
                raise RefusedError("the picture is cut off before its end; send it again")
            return media_type
    raise RefusedError("that is no picture in JPEG or PNG; photographs are kept in these two")


def _check_what_it_shows(record: Record, asked: Photographed) -> None:
    parts = get_args(Part)
    if asked.part is not None and asked.part not in parts:
        raise UnknownError(f"there is no part {asked.part!r}; there are {', '.join(parts)}")
    if asked.position is not None:
        check_position(record.plan, asked.position)
    if asked.part is None:
        return
    if asked.position is None or (asked.position == HEAD) != (asked.part == "head"):
        usual = HEAD if asked.part == "head" else record.plan.head.positions[0]
        raise RefusedError(
            f"a picture of the {asked.part} needs a position like {usual!r}, not "
            f"{asked.position or 'none'!r}"
        )

"""What a writer is given besides the record: raw traces, checks and the reader's wishes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from api.export.telling import Told
from daq.head.photograph import Photograph

Paper = Literal["a4", "us-letter"]
LengthUnit = Literal["mm", "in"]
# The faults of a QIF document against the standard's schema.
QifCheck = Callable[[bytes], Sequence[str]]


class ExportError(Exception):
    """A file that must not leave as it is, or a part of the program that is not installed."""


def _no_trace(_sha256: str) -> bytes | None:
    return None


def _no_picture(_photograph: Photograph) -> bytes | None:
    return None


@dataclass(frozen=True, slots=True)
class Given:
    """Everything has a default: a record alone is enough for every format.

    trace: the packed trace with that hash, None where it is not at hand. picture: the file of a
    photograph, likewise. check_qif: what a
    QIF document has to pass. paper, length: how the sheet is printed.
    address: of the page, where a scanned code leads. told: asked to be told how far a table is.
    """

    trace: Callable[[str], bytes | None] = _no_trace
    picture: Callable[[Photograph], bytes | None] = _no_picture
    check_qif: QifCheck | None = None
    paper: Paper = "a4"
    length: LengthUnit = "mm"
    address: str = "http://127.0.0.1:8620/"
    told: Told | None = None


ALONE = Given()

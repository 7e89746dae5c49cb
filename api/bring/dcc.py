"""A digital calibration certificate (DCC 3.x with D-SI 2.x values): what it says of a gauge.

Read by the names of elements wherever they stand, because versions differ; what is missing is
missing, and nothing is guessed. No entity, no document type, no network.
"""

from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from typing import Any

from pydantic import BaseModel, ConfigDict

from daq.head.errors import RefusedError

POINTS_MAX = 1000
_PREFIXES = {"": 0, "kilo": 3, "centi": -2, "milli": -3, "micro": -6, "nano": -9}
_METRE_IN_MM = 3
_REFERENCE, _ERROR = "basic_referenceValue", "basic_measurementError"
_SIGNS_MAX = 30
_VERSION = "3."


class Point(BaseModel):
    """One point of a calibration, in mm. expanded_mm: uncertainty of the error, with its k."""

    model_config = ConfigDict(frozen=True)

    reference_mm: Decimal
    error_mm: Decimal
    expanded_mm: Decimal | None
    k: Decimal | None


class Certificate(BaseModel):
    """What a certificate says. serial: the maker's. doubts: what could not be read, in words."""

    model_config = ConfigDict(frozen=True)

    certificate: str
    serial: str | None
    gauge: str | None
    laboratory: str | None
    calibrated_on: str | None
    points: tuple[Point, ...]
    doubts: tuple[str, ...]

    @property
    def error_limit_mm(self) -> Decimal | None:
        """The most the gauge may be off at any point: its error with the uncertainty of it."""
        sizes = [abs(point.error_mm) + (point.expanded_mm or 0) for point in self.points]
        return max(sizes, default=None)


def read(text: str) -> Certificate:
    """The certificate in an XML text. Raises RefusedError for what is none."""
    root = _root(text)
    if _name(root) != "digitalCalibrationCertificate":
        raise RefusedError(f"this is no digital calibration certificate but a {_name(root)!r}")
    identifier = _first(root, "uniqueIdentifier")
    if not identifier:
        raise RefusedError("the certificate has no uniqueIdentifier, so it has no number")
    version = root.get("schemaVersion")
    doubts: list[str] = []
    if version is not None and not version.startswith(_VERSION):
        doubts.append(f"it is of version {version}, and what is read here is {_VERSION}x")
    points = [point for result in _all(root, "result") for point in _points(result, doubts)]
    if len(points) > POINTS_MAX:
        raise RefusedError(f"the certificate has more than {POINTS_MAX} points")
    if not points:
        doubts.append("no pair of reference values and measurement errors was found")
    laboratory = next(_all(root, "calibrationLaboratory"), None)
    item = next(_all(root, "item"), None)
    return Certificate(
        certificate=identifier,
        serial=_serial(root),
        gauge=None if item is None else _first(item, "content"),
        laboratory=None if laboratory is None else _first(laboratory, "content"),
        calibrated_on=_first(root, "endPerformanceDate"),
        points=tuple(points),
        doubts=tuple(doubts),
    )


def _root(text: str) -> Any:
    from lxml import etree

    # The text came in JSON and is none of the encodings that its first line may name.
    parser = etree.XMLParser(
        encoding="utf-8",
        no_network=True,
        resolve_entities=False,
        load_dtd=False,
        remove_comments=True,
    )
    try:
        root = etree.fromstring(text.encode(), parser)
    except etree.XMLSyntaxError as error:
        raise RefusedError(f"this is not XML: {error}") from None
    about: Any = root.getroottree().docinfo
    if about.doctype:
        raise RefusedError("the file declares a document type, which no certificate needs")
    return root


def _serial(root: Any) -> str | None:
    for identification in _all(root, "identification"):
        if _first(identification, "issuer") == "manufacturer":
            return _first(identification, "value")
    return None


def _points(result: Any, doubts: list[str]) -> list[Point]:
    """The points of one result, whatever else stands in it and in whatever order."""
    quantities = {each.get("refType"): each for each in _all(result, "quantity")}
    if _REFERENCE not in quantities or _ERROR not in quantities:
        return []
    try:
        references = _lengths(quantities[_REFERENCE], "value")
        errors = _lengths(quantities[_ERROR], "value")
        expanded = _lengths(quantities[_ERROR], "uncertainty", "valueExpandedMU")
        factors = _numbers(quantities[_ERROR], "coverageFactor")
    except RefusedError as error:
        doubts.append(f"{_first(result, 'content') or 'a result'}: {error}")
        return []
    if len(references) != len(errors):
        doubts.append(f"{len(references)} reference values and {len(errors)} errors do not pair")
        return []
    return [
        Point(reference_mm=reference, error_mm=error, expanded_mm=u, k=k)
        for reference, error, u, k in zip(
            references, errors, _spread(expanded, errors), _spread(factors, errors), strict=True
        )
    ]


def _spread(values: list[Decimal], over: list[Decimal]) -> list[Decimal | None]:
    """One value for all, one for each, or none."""
    if len(values) == 1:
        return [values[0]] * len(over)
    return list(values) if len(values) == len(over) else [None] * len(over)


def _lengths(quantity: Any, *names: str) -> list[Decimal]:
    """Numbers of a quantity in mm, from the scalar or the list form."""
    unit = _first(quantity, "unitXMLList") or _first(quantity, "unit") or ""
    scale = _scale(unit.split()[0] if unit.split() else "")
    return [value.scaleb(scale) for value in _numbers(quantity, *names)]


def _numbers(quantity: Any, *names: str) -> list[Decimal]:
    text = next(
        (found for name in names for form in (f"{name}XMLList", name)
         if (found := _first(quantity, form))),
        "",
    )  # fmt: skip
    try:
        numbers = [Decimal(each) for each in text.split()]
    except InvalidOperation:
        raise RefusedError(f"{text[:_SIGNS_MAX]!r} are no numbers") from None
    if not all(number.is_finite() for number in numbers):
        raise RefusedError(f"{text[:_SIGNS_MAX]!r} are no numbers")
    return numbers


def _scale(unit: str) -> int:
    """The power of ten from a D-SI length to mm."""
    parts = unit.removeprefix("\\").split("\\")
    prefix = parts[0] if len(parts) == 2 else ""
    if len(parts) > 2 or parts[-1] != "metre" or prefix not in _PREFIXES:
        raise RefusedError(f"the unit {unit[:_SIGNS_MAX]!r} is no length that is known here")
    return _PREFIXES[prefix] + _METRE_IN_MM


def _all(element: Any, name: str) -> Iterator[Any]:
    return (each for each in element.iter() if _name(each) == name)


def _first(element: Any, name: str) -> str | None:
    found = next((each for each in _all(element, name) if each.text and each.text.strip()), None)
    return None if found is None else " ".join(found.text.split())


def _name(element: Any) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""

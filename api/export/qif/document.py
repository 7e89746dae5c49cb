"""The document as a whole: head, units, and its parts in the order that the schema wants."""

from api.export.figures import with_figures
from api.export.ids import id_for
from api.export.qif.characteristics import Characteristics, characteristics
from api.export.qif.features import Features, datums, features
from api.export.qif.product import Product, product
from api.export.qif.resources import resources
from api.export.qif.results import results
from api.export.qif.xml import Element, Ids, put, root
from daq.head.view import RecordView

VERSION_QIF = "3.0.0"


def _head(record: RecordView) -> str:
    bank = record.job.bank
    return "one cylinder head" if bank is None else f"the cylinder head of the {bank} bank"


def document(record: RecordView) -> Element:
    """The whole tree. It is built in one walk, so ids count up from its top to its end."""
    record = with_figures(record)
    ids = Ids()
    whole = root("QIFDocument", versionQIF=VERSION_QIF, idMax="0")
    put(whole, "QPId", qpid(record, "document"))
    put(put(whole, "Version"), "TimeCreated", record.job.signed_at or record.job.opened_at)
    header = put(whole, "Header")
    put(put(header, "Application"), "Name", "benchtally")
    put(header, "Description", f"Inspection record of job {record.job.number}, {_head(record)}")
    standard = _standards(whole, ids)
    software = _software(whole, ids)
    _units(whole)
    places = Features(record, ids)
    datums(whole, places)
    devices = resources(whole, record, ids)
    made = product(whole, record, ids)
    features(whole, places)
    items = characteristics(whole, record, ids, standard, places)
    _finish(whole, record, ids, software, devices, made, items, places)
    whole.set("idMax", str(ids.last))
    return whole


def _finish(
    whole: Element,
    record: RecordView,
    ids: Ids,
    software: str,
    devices: dict[object, str],
    made: Product,
    items: Characteristics,
    places: Features,
) -> None:
    results(
        whole, record, ids,
        software=software, devices=devices, product=made, items=items, places=places,
        instance=qpid(record, "results"),
    )  # fmt: skip


def qpid(record: RecordView, what: str) -> str:
    """An id for all the world that is the same whenever the same record is written."""
    return id_for(what, record.job.id, record.head.hash)


def _standards(whole: Element, ids: Ids) -> str:
    standard = put(put(whole, "StandardsDefinitions", n="1"), "Standard", id=ids.next())
    put(put(standard, "Organization"), "StandardsOrganizationEnum", "ISO")
    put(standard, "Designator", "1101")
    return str(standard.get("id"))


def _software(whole: Element, ids: Ids) -> str:
    software = put(put(whole, "SoftwareDefinitions", n="1"), "Software", id=ids.next())
    put(software, "VendorName", "benchtally")
    put(software, "ApplicationName", "benchtally")
    put(software, "Version", "1")
    return str(software.get("id"))


# The unit's element, the SI unit, our unit, factor and offset to the SI unit.
_UNITS = (
    ("AngularUnit", "radian", "deg", "0.0174532925199433", None),
    ("ForceUnit", "newton", "N", None, None),
    ("LinearUnit", "meter", "mm", "0.001", None),
    ("PressureUnit", "pascal", "mbar", "100", None),
    ("TemperatureUnit", "kelvin", "Cel", "1", "273.15"),
    ("TimeUnit", "second", "s", None, None),
)


def _units(whole: Element) -> None:
    primary = put(put(whole, "FileUnits"), "PrimaryUnits")
    for element, si_unit, unit, factor, offset in _UNITS:
        made = put(primary, element)
        put(made, "SIUnitName", si_unit)
        put(made, "UnitName", unit)
        if factor is not None:
            conversion = put(made, "UnitConversion")
            put(conversion, "Factor", factor)
            if offset is not None:
                put(conversion, "Offset", offset)

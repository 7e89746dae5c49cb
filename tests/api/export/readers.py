"""Every format read back by something we did not write, into two shapes.

`facts`: what a file says of each measurement, by its id, as plain strings. `atoms`: every cell,
element or word of the file under an address, so that two files can be compared piece by piece.
"""

import io
import json
from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple

from api.export.figures import figure_id
from daq.head.characteristic import CATALOGUE

Facts = dict[str, dict[str, str | None]]
Atoms = dict[str, str]
KEYS = (
    "position", "characteristic", "depth_mm", "direction", "value", "unit", "uncertainty", "lower",
    "upper", "status", "complete", "superseded", "measured_at", "gauge_serial", "certificate",
    "calibration_due",
)  # fmt: skip
NUMBERS = frozenset({"depth_mm", "value", "uncertainty", "lower", "upper"})
# Of a figure of a part: it has no limit, no gauge and no place, and nothing judged it.
FIGURE_KEYS = ("position", "value", "unit", "uncertainty", "status", "complete")


class Reader(NamedTuple):
    facts: Callable[[bytes], Facts]
    atoms: Callable[[bytes], Atoms]


def said(decimal) -> str | None:
    return None if decimal is None else format(decimal, "f")


def facts_of(view) -> Facts:
    """What every file has to say, from the record itself: its measurements, and the figures of
    its parts, which nothing judged."""
    figures = {
        figure_id(view.job.id, shape.position, shape.part, figure.name): {
            "position": shape.position,
            "complete": lower_case(shape.whole),
            "value": said(figure.value),
            "unit": figure.unit,
            "uncertainty": said(figure.uncertainty),
            "status": "NOT_ANALYZED",
        }
        for shape in view.shapes
        for figure in shape.figures
    }
    return figures | {
        m.id: {
            "position": m.position,
            "characteristic": m.characteristic,
            "depth_mm": said(m.place and m.place.depth_mm),
            "direction": m.place and m.place.direction,
            "complete": lower_case(m.complete),
            "superseded": lower_case(m.superseded),
            "measured_at": m.measured_at,
            "certificate": m.certificate,
            "calibration_due": m.calibration_due and str(m.calibration_due),
            "value": said(m.value),
            "unit": m.unit,
            "uncertainty": said(m.uncertainty),
            "lower": said(m.limits and m.limits.lower),
            "upper": said(m.limits and m.limits.upper),
            "status": m.status.value,
            "gauge_serial": m.gauge_serial,
        }
        for m in view.measurements
    }


def as_numbers(facts: Facts) -> Facts:
    """The same for formats whose numbers are numbers: how many zeros stand behind is their look."""
    return {
        id_: {
            key: cell if cell is None or key not in NUMBERS else _number(cell)
            for key, cell in row.items()
        }
        for id_, row in facts.items()
    }


def _number(text: str) -> str:
    return format(Decimal(text).normalize() + 0, "f")


def lower_case(is_so: bool) -> str:
    return str(is_so).lower()


_COLUMN = {
    "uncertainty": "u_k2", "certificate": "cal_certificate", "calibration_due": "cal_due",
}  # fmt: skip


def _row(cells: Mapping[str, str | None]) -> dict[str, str | None]:
    keys = KEYS if cells["characteristic"] in CATALOGUE else FIGURE_KEYS
    return {key: cells[_COLUMN.get(key, key)] or None for key in keys}


def _undo_defusing(text: str | None) -> str | None:
    return text[1:] if text and text[0] == "'" and text[1:2] in tuple("=+-@\t\r") else text


def csv_rows(data: bytes) -> list[dict[str, str | None]]:
    import pyarrow as pa
    from pyarrow import csv

    names = csv.read_csv(io.BytesIO(data.split(b"\r\n")[0] + b"\r\n")).column_names
    table = csv.read_csv(
        io.BytesIO(data),
        read_options=csv.ReadOptions(block_size=1 << 24),
        parse_options=csv.ParseOptions(newlines_in_values=True),
        convert_options=csv.ConvertOptions(
            column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False
        ),
    )
    return table.to_pylist()


def _csv_facts(data: bytes) -> Facts:
    undone = [{name: _undo_defusing(cell) for name, cell in row.items()} for row in csv_rows(data)]
    return {row["measurement_id"]: _row(row) for row in undone}


def _csv_atoms(data: bytes) -> Atoms:
    return {
        f"{row['measurement_id']}/{name}": cell or ""
        for row in csv_rows(data)
        for name, cell in row.items()
    }


def _json_facts(data: bytes) -> Facts:
    record = json.loads(data)
    figures = {
        figure_id(record["job"]["id"], shape["position"], shape["part"], figure["name"]): {
            "position": shape["position"],
            "complete": lower_case(shape["whole"]),
            "value": figure["value"],
            "unit": figure["unit"],
            "uncertainty": figure["uncertainty"],
            "status": "NOT_ANALYZED",
        }
        for shape in record["shapes"]
        for figure in shape["figures"]
    }
    return figures | {
        m["id"]: {
            **{key: (m["limits"] or {}).get(key) for key in ("lower", "upper")},
            **{key: (m["place"] or {}).get(key) for key in ("depth_mm", "direction")},
            **{key: lower_case(m[key]) for key in ("complete", "superseded")},
            **{
                key: m[key] or None
                for key in (
                    "position",
                    "characteristic",
                    "value",
                    "unit",
                    "uncertainty",
                    "status",
                    "measured_at",
                    "gauge_serial",
                    "certificate",
                    "calibration_due",
                )
            },
        }
        for m in record["measurements"]
    }


def flat(value, address: str = "") -> Atoms:
    if isinstance(value, dict):
        return {
            k: v for key, each in value.items() for k, v in flat(each, f"{address}/{key}").items()
        }
    if isinstance(value, list):
        return {
            k: v
            for number, each in enumerate(value)
            for k, v in flat(each, f"{address}/{_named(each, number)}").items()
        }
    return {address: json.dumps(value)}


def _named(each, number: int) -> str:
    return each["id"] if isinstance(each, dict) and "id" in each else str(number)


def workbook(data: bytes):
    from openpyxl import load_workbook

    return load_workbook(io.BytesIO(data))


def _cell_text(cell) -> str | None:
    if cell.value is None:
        return None
    assert cell.data_type != "f", f"{cell.coordinate} is a formula: {cell.value!r}"
    if isinstance(cell.value, bool):
        return str(cell.value).lower()
    if isinstance(cell.value, int | float):
        return format(Decimal(repr(cell.value)).normalize() + 0, "f")
    if isinstance(cell.value, datetime):
        is_day = "h" not in cell.number_format
        at = cell.value.isoformat(timespec="milliseconds")
        return at[:10] if is_day else f"{at}Z"
    return str(cell.value)


def _xlsx_facts(data: bytes) -> Facts:
    book = workbook(data)
    found = {cells["measurement_id"]: _row(cells) for cells in _sheet_rows(book["Measurements"])}
    if "Shapes" in book.sheetnames:
        about = {"characteristic": None, "status": "NOT_ANALYZED"}
        found |= {
            cells["measurement_id"]: _row({**about, "complete": cells["whole"], **cells})
            for cells in _sheet_rows(book["Shapes"])
        }
    return found


def _sheet_rows(sheet) -> list[dict[str, str | None]]:
    rows = list(sheet.iter_rows())
    names = [cell.value for cell in rows[0]]
    found = [
        {name: _cell_text(cell) for name, cell in zip(names, row, strict=True)} for row in rows[1:]
    ]
    return [cells for cells in found if cells["measurement_id"]]


def _xlsx_atoms(data: bytes) -> Atoms:
    return {
        f"{sheet.title}!{cell.coordinate}": f"{_cell_text(cell)} {cell.number_format}"
        for sheet in workbook(data)
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


Q = "{http://qifstandards.org/xsd/qif3}"
# A reader of QIF knows the unit from the kind of characteristic and the units of the file.
_UNIT_ELEMENT = {
    "UserDefinedForce": "ForceUnit",
    "UserDefinedPressure": "PressureUnit",
    "UserDefinedAngular": "AngularUnit",
    "UserDefinedTemperature": "TemperatureUnit",
    "UserDefinedTime": "TimeUnit",
}


def _attributes(element) -> dict[str, str]:
    holder = element.find(f"{Q}Attributes")
    return {} if holder is None else {each.get("name"): each.get("value") for each in holder}


def _qif_facts(data: bytes) -> Facts:
    from lxml import etree

    root = etree.fromstring(data)
    by_id = {each.get("id"): each for each in root.iter() if each.get("id")}
    found = {}
    for holder in root.iter(f"{Q}CharacteristicMeasurements"):
        for measured in holder:
            item = by_id[measured.findtext(f"{Q}CharacteristicItemId")]
            nominal = by_id[item.findtext(f"{Q}CharacteristicNominalId")]
            definition = by_id[nominal.findtext(f"{Q}CharacteristicDefinitionId")]
            said, asked = _attributes(measured), _attributes(definition)
            where = _attributes(item)
            gauge = by_id.get(measured.findtext(f"{Q}MeasurementDeviceIds/{Q}Id"))
            until = _text_of(gauge, "Calibrations/Calibration/ExpirationDate")
            status = measured.findtext(f"{Q}Status/{Q}CharacteristicStatusEnum")
            row = {
                "position": item.findtext(f"{Q}Name").partition(" ")[0],
                "characteristic": asked["characteristic"],
                "depth_mm": where.get("depth_mm"),
                "direction": where.get("direction"),
                "complete": said["complete"],
                "superseded": said.get("superseded", "false"),
                "measured_at": measured.findtext(f"{Q}TimeStamp"),
                "certificate": None
                if gauge is None
                else _attributes(gauge).get("calibrationCertificate"),
                "calibration_due": until and until.removesuffix("T00:00:00Z"),
                "value": measured.findtext(f"{Q}Value"),
                "unit": asked.get("unit") or _unit_of(root, etree.QName(measured).localname),
                "uncertainty": said.get("expandedUncertainty"),
                "lower": asked.get("lower") or definition.findtext(f".//{Q}MinValue"),
                "upper": asked.get("upper")
                or definition.findtext(f".//{Q}MaxValue")
                or definition.findtext(f"{Q}ToleranceValue"),
                "status": "VOID" if "voidReason" in said else status,
                "gauge_serial": _text_of(gauge, "SerialNumber"),
            }
            keys = KEYS if row["characteristic"] in CATALOGUE else FIGURE_KEYS
            found[said["measurementId"]] = {key: row[key] for key in keys}
            combined = measured.find(f"{Q}Value")
            if (
                combined is not None
                and "expandedUncertainty" in said
                and combined.attrib.get("decimalPlaces")
            ):
                u = Decimal(combined.get("combinedUncertainty"))
                assert u * Decimal(said["coverageFactor"]) >= Decimal(said["expandedUncertainty"])
    return found


def _text_of(element, path: str) -> str | None:
    return None if element is None else element.findtext("/".join(map(Q.__add__, path.split("/"))))


def _unit_of(root, element: str) -> str:
    kind = element.removesuffix("CharacteristicMeasurement")
    return root.findtext(
        f".//{Q}PrimaryUnits/{Q}{_UNIT_ELEMENT.get(kind, 'LinearUnit')}/{Q}UnitName"
    )


def _qif_atoms(data: bytes) -> Atoms:
    """Every text and attribute, addressed by the measurement or by the path it stands in."""
    from lxml import etree

    root = etree.fromstring(data)
    tree = root.getroottree()
    found = {}
    for element in root.iter():
        path = tree.getelementpath(element).replace(Q, "")
        if element.text and element.text.strip():
            found[path] = element.text
        for name, value in element.attrib.items():
            found[f"{path}/@{name}"] = value
    return found


def pdf_pages(data: bytes) -> list[str]:
    """The text of each page, its white space evened out and break marks gone."""
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    try:
        return [
            " ".join(page.get_textpage().get_text_range().replace("\u200b", "").split())
            for page in document
        ]
    finally:
        document.close()


def pdf_attachment(data: bytes) -> bytes:
    from pypdf import PdfReader

    files = PdfReader(io.BytesIO(data)).attachments
    assert list(files) == ["record.qif"]
    return files["record.qif"][0]


def _pdf_atoms(data: bytes) -> Atoms:
    return {
        f"page {page}/{place}": word
        for page, text in enumerate(pdf_pages(data), 1)
        for place, word in enumerate(text.split())
    }


def parquet_rows(data: bytes) -> list[dict]:
    from pyarrow import parquet

    return parquet.read_table(io.BytesIO(data)).to_pylist()


def _parquet_facts(data: bytes) -> Facts:
    return {
        row["measurement_id"]: _row({name: _plain(cell) for name, cell in row.items()})
        for row in parquet_rows(data)
    }


def _plain(cell) -> str | None:
    if isinstance(cell, bool):
        return lower_case(cell)
    if isinstance(cell, datetime):
        return cell.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    if isinstance(cell, date):
        return cell.isoformat()
    return format(cell, "f") if isinstance(cell, Decimal) else cell


def _parquet_atoms(data: bytes) -> Atoms:
    return {
        f"{row['measurement_id']}/{name}": str(cell)
        for row in parquet_rows(data)
        for name, cell in row.items()
        if cell is not None
    }


def members(data: bytes) -> dict[str, bytes]:
    import zipfile

    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        assert opened.testzip() is None
        return {name: opened.read(name) for name in opened.namelist()}


def _bundle_facts(data: bytes) -> Facts:
    """Every member has to say the same; what the most exact one says is taken."""
    inside = members(data)
    found = {
        name: READERS[name].facts(inside[f"record.{name}"])
        for name in ("csv", "json", "xlsx", "qif", "pdf", "parquet")
    }
    for name, facts in found.items():
        if name in NUMERIC:
            assert as_numbers(found["json"]) == as_numbers(facts), name
        else:
            assert found["json"] == facts, name
    return found["json"]


def _bundle_atoms(data: bytes) -> Atoms:
    return {
        f"{name}:{address}": atom
        for name, content in members(data).items()
        for reader in [READERS.get(name.removeprefix("record."))]
        for address, atom in (
            reader.atoms(content).items()
            if reader
            else [("", content.decode("utf-8", "backslashreplace"))]
        )
    }


READERS: dict[str, Reader] = {
    "csv": Reader(_csv_facts, _csv_atoms),
    "json": Reader(_json_facts, lambda data: flat(json.loads(data))),
    "xlsx": Reader(_xlsx_facts, _xlsx_atoms),
    "qif": Reader(_qif_facts, _qif_atoms),
    "parquet": Reader(_parquet_facts, _parquet_atoms),
    "bundle": Reader(_bundle_facts, _bundle_atoms),
    # What is printed is walked in test_sheet; this is the record that goes along with it.
    "pdf": Reader(lambda data: _qif_facts(pdf_attachment(data)), _pdf_atoms),
}
# Formats whose numbers are numbers and carry their digits in a cell format.
NUMERIC = frozenset({"xlsx", "parquet"})

"""What a document can still have wrong that the schema does not see."""

from collections import Counter
from decimal import Decimal

from api.export.qif.xml import Element, tag

_TIMES = (
    "TimeCreated", "TimeOccurred", "TimeStamp", "DateAndTime", "ExpirationDate",
    "CalibrationDate", "InspectionStart", "InspectionEnd",
)  # fmt: skip


def faults_of(root: Element) -> list[str]:
    """One sentence a fault; none for a document that may leave."""
    return [*_counts(root), *_ids(root), *_gauges(root), *_times(root), *_passes(root)]


def _counts(root: Element) -> list[str]:
    return [
        f"{_name(element)} says n={element.get('n')} and holds {len(element)}"
        for element in root.iter()
        if element.get("n") is not None and element.get("n") != str(len(element))
    ]


def _ids(root: Element) -> list[str]:
    ids = Counter(element.get("id") for element in root.iter() if element.get("id") is not None)
    found = [f"id {id_} is given {times} times" for id_, times in ids.items() if times > 1]
    largest = max((int(id_) for id_ in ids), default=0)
    if int(root.get("idMax")) < largest:
        found.append(f"idMax is {root.get('idMax')}, and an id is {largest}")
    return found


def _gauges(root: Element) -> list[str]:
    known = {device.get("id") for device in root.iter(tag("GageDevice"))}
    return [
        f"{_name(holder.getparent())} {holder.getparent().get('id')} names gauge {used.text}, "
        "which is not in the document"
        for holder in root.iter(tag("MeasurementDeviceIds"))
        for used in holder
        if used.text not in known
    ]


def _times(root: Element) -> list[str]:
    return [
        f"{name} is {element.text!r}, not a time in UTC"
        for name in _TIMES
        for element in root.iter(tag(name))
        if not (element.text or "").endswith("Z")
    ]


def _passes(root: Element) -> list[str]:
    """PASS beside a value outside its limits, or beside none at all."""
    holders = [root.find(f".//{tag(f'Characteristic{what}')}") for what in _LISTS]
    definitions, nominals, items = (
        {each.get("id"): each for each in ([] if holder is None else holder) if each.get("id")}
        for holder in holders
    )
    found = []
    for element in root.iter(tag("CharacteristicStatusEnum")):
        measured = element.getparent().getparent()
        if element.text != "PASS" or measured.find(tag("CharacteristicItemId")) is None:
            continue
        item = items[measured.findtext(tag("CharacteristicItemId"))]
        nominal = nominals[item.findtext(tag("CharacteristicNominalId"))]
        definition = definitions[nominal.findtext(tag("CharacteristicDefinitionId"))]
        value = measured.findtext(tag("Value"))
        if value is None or not _inside(definition, Decimal(value)):
            found.append(f"measurement {measured.get('id')} is PASS with the value {value}")
    return found


_LISTS = ("Definitions", "Nominals", "Items")


def _inside(definition: Element, value: Decimal) -> bool:
    most = definition.findtext(f".//{tag('MaxValue')}")
    ends = {
        "upper": most or definition.findtext(tag("ToleranceValue")),
        "lower": definition.findtext(f".//{tag('MinValue')}"),
    }
    for element in definition.iter(tag("AttributeD1")):
        if element.get("name") in ends:
            ends[element.get("name")] = element.get("value")
    lower, upper = ends["lower"], ends["upper"]
    return (lower is None or value >= Decimal(lower)) and (upper is None or value <= Decimal(upper))


def _name(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]

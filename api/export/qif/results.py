"""What was found: measurements with status, and the parts with their verdicts."""

from dataclasses import dataclass
from decimal import Decimal

from api.export.gauges import key_of
from api.export.qif.characteristics import Characteristics, item_of
from api.export.qif.events import events, traceability
from api.export.qif.features import Features
from api.export.qif.kinds import Form
from api.export.qif.product import HEAD, Product, part_of
from api.export.qif.resources import V_BLOCKS, is_on_blocks
from api.export.qif.xml import Element, Ids, plain, put, put_attributes, put_ids
from daq.head.decide import Verdict
from daq.head.measurement import Measurement, Status
from daq.head.record import EntryKind
from daq.head.view import Note, RecordView

_VERDICTS = {
    Verdict.ACCEPT: "PASS",
    Verdict.REWORK: "REWORK",
    Verdict.REPLACE: "FAIL",
    Verdict.UNSURE: "UNKNOWN",
    Verdict.NOT_MEASURED: "NOT_MEASURED",
}
# Measured, but the plan decides nothing about that part.
_UNDECIDED = "UNKNOWN"


@dataclass(frozen=True, slots=True)
class _Known:
    """The ids that results refer to."""

    devices: dict[object, str]
    items: Characteristics
    places: Features
    components: dict[tuple[str, str], str]
    events: dict[str, str]
    features: dict[tuple[str, str], str]


def results(
    whole: Element,
    record: RecordView,
    ids: Ids,
    *,
    software: str,
    devices: dict[object, str],
    product: Product,
    items: Characteristics,
    places: Features,
    instance: str,
) -> None:
    """The Results block."""
    block = put(whole, "Results")
    found = put(put(block, "MeasurementResultsSet", n="1"), "MeasurementResults", id=ids.next())
    components = {component: ids.next() for component in product.paths}
    noted = events(record, ids)
    traceability(found, record, software, noted)
    put(found, "ThisResultsInstanceQPId", instance)
    features = {each: ids.next() for each in places.items}
    known = _Known(
        devices,
        items,
        places,
        components,
        {m: event.id for m, event in noted.voids.items()},
        features,
    )
    _measured_features(found, record, known)
    if record.measurements:
        holder = put(found, "MeasuredCharacteristics")
        measured = put(holder, "CharacteristicMeasurements", n=str(len(record.measurements)))
        for m in record.measurements:
            _measurement(measured, m, ids.next(), known)
    put(put(found, "InspectionStatus"), "InspectionStatusEnum", _VERDICTS[record.verdict])
    put_ids(found, "ActualComponentIds", components.values())
    _components(block, record, product, known)


def _measured_features(found: Element, record: RecordView, known: _Known) -> None:
    if not known.features:
        return
    holder = put(found, "MeasuredFeatures", n=str(len(known.features)))
    for (name, position), id_ in known.features.items():
        made = put(holder, "CylinderFeatureMeasurement", id=id_)
        put(made, "FeatureItemId", known.places.items[name, position])
        put(made, "ActualComponentId", known.components[position, part_of(name)])
        here = [
            m for m in record.measurements if (m.characteristic, m.position) == (name, position)
        ]
        keys = dict.fromkeys(key for m in here if (key := key_of(m)) is not None)
        put_ids(made, "MeasurementDeviceIds", [known.devices[key] for key in keys])


def _measurement(holder: Element, m: Measurement, id_: str, known: _Known) -> None:
    item = item_of(m)
    kind = item.asked.kind
    made = put(holder, f"{kind.element}CharacteristicMeasurement", id=id_)
    _attributes(made, m)
    status = Status.NOT_ANALYZED if m.status is Status.VOID else m.status
    put(put(made, "Status"), "CharacteristicStatusEnum", status.value)
    put(made, "CharacteristicItemId", known.items.items[item])
    put(made, "TimeStamp", m.measured_at)
    feature = known.features.get((m.characteristic, m.position))
    put_ids(made, "FeatureMeasurementIds", [] if feature is None else [feature])
    put(made, "ActualComponentId", known.components[m.position, part_of(m.characteristic)])
    key = key_of(m)
    put_ids(made, "MeasurementDeviceIds", [] if key is None else [known.devices[key]])
    event = known.events.get(m.id)
    put_ids(made, "NotedEventIds", [] if event is None else [event])
    if m.value is None:
        return
    if kind.form is Form.TEXT:
        put(made, "Value", plain(m.value))
        return
    said = {"decimalPlaces": str(_places(m.value))}
    if m.uncertainty is not None:
        said = {"combinedUncertainty": plain(standard(m.uncertainty, m.k)), **said}
    put(made, "Value", plain(m.value), **said)


def standard(expanded: Decimal, k: Decimal) -> Decimal:
    """The same statement with k = 1, which is what QIF's attribute means; never smaller."""
    digits = expanded.as_tuple().exponent
    grid = Decimal(1).scaleb((digits if isinstance(digits, int) else 0) - 1)
    exact = expanded / k
    rounded = exact.quantize(grid)
    return rounded if rounded >= exact else rounded + grid


def _places(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _attributes(made: Element, m: Measurement) -> None:
    put_attributes(
        made,
        {
            "measurementId": m.id,
            "expandedUncertainty": m.uncertainty,
            "coverageFactor": None if m.uncertainty is None else m.k,
            "complete": "true" if m.complete else "false",
            "superseded": "true" if m.superseded else None,
            "came": m.came.value,
            "take": str(m.take),
            "method": str(m.detail.get("proof") or m.detail.get("by") or "") or None,
            "revolutions": str(m.detail.get("turns") or "") or None,
            "traceSha256": m.trace_sha256,
            "operator": m.person or None,
            "reason": m.reason or None,
            "note": m.note or None,
            "voidReason": m.void_reason,
        },
    )


def _components(block: Element, record: RecordView, product: Product, known: _Known) -> None:
    """The parts as they are, each with its verdict."""
    verdicts = {(d.position, str(d.part)): _VERDICTS[d.decision] for d in record.decisions}
    verdicts[HEAD] = _VERDICTS[record.verdict]
    sets = put(block, "ActualComponentSets", n="1")
    holder = put(sets, "ActualComponentSet", n=str(len(known.components)))
    serial = record.job.head_serial or record.job.number
    on_blocks = {(m.position, "valve") for m in record.measurements if is_on_blocks(m)}
    for component, id_ in known.components.items():
        position, part = component
        made = put(holder, "ActualComponent", id=id_)
        put(made, "SerialNumber", serial if component == HEAD else f"{serial}/{position}/{part}")
        put(put(made, "Status"), "InspectionStatusEnum", verdicts.get(component, _UNDECIDED))
        warm = [n for n in record.notes if n.kind is EntryKind.TEMPERATURE]
        if component == HEAD and warm:
            _environments(put(made, "Traceability"), warm)
        elif component in on_blocks:
            put(put(made, "Traceability"), "FixtureId", known.devices[V_BLOCKS])
        put(made, "AsmPathId", product.paths[component])


def _environments(traceability: Element, warm: list[Note]) -> None:
    holder = put(traceability, "ProductEnvironments", n=str(len(warm)))
    for note in warm:
        made = put(holder, "Environment")
        put(made, "ObjectTemperature", str(note.body["part_c"]))
        put(made, "AmbientTemperature", str(note.body["gauge_c"]))
        put(made, "DateAndTime", note.at)

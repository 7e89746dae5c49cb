"""The gauges with their calibration, and the V-blocks."""

from api.export.gauges import GaugeUsed, used_in
from api.export.qif.xml import Element, Ids, put, put_attributes, put_if
from daq.head.characteristic import CATALOGUE
from daq.head.measurement import Measurement
from daq.head.view import RecordView


def resources(whole: Element, record: RecordView, ids: Ids) -> dict[object, str]:
    """MeasurementResources; gives the id of each gauge by its key, of the V-blocks by theirs."""
    used = used_in(record.measurements)
    on_blocks = any(is_on_blocks(m) for m in record.measurements)
    found: dict[object, str] = {}
    if not used and not on_blocks:
        return found
    block = put(whole, "MeasurementResources")
    if on_blocks:
        found[V_BLOCKS] = ids.next()
        fixture = put(put(block, "Fixtures", n="1"), "Fixture", id=found[V_BLOCKS])
        put(fixture, "Name", "V-blocks")
    if used:
        devices = put(block, "MeasurementDevices", n=str(len(used)))
        for key, gauge in used.items():
            found[key] = ids.next()
            _gauge(devices, gauge, found[key])
    return found


V_BLOCKS = "V-blocks"


def is_on_blocks(m: Measurement) -> bool:
    """Whether the part lay on the V-blocks."""
    about = CATALOGUE.get(m.characteristic)
    return about is not None and about.capture == "turn" and about.part == "valve"


def _gauge(devices: Element, gauge: GaugeUsed, id_: str) -> None:
    made = put(devices, "GageDevice", id=id_)
    put(made, "Name", gauge.name)
    put_if(made, "SerialNumber", gauge.serial)
    put_attributes(made, {"calibrationCertificate": gauge.certificate or None})
    if gauge.due is None:
        return  # a calibration without its end cannot be written, and none is made up
    calibration = put(put(made, "Calibrations", n="1"), "Calibration")
    for reference in gauge.references[:1]:
        master = put(calibration, "CalibrationMaster")
        put(master, "SerialNumber", reference)
        put(master, "Description", "what its zero was taken on in this job")
    put(calibration, "ExpirationDate", f"{gauge.due}T00:00:00Z")

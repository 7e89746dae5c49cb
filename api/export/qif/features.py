"""Bores and stems as cylinders, one a position, and the axes that runouts are taken to."""

from typing import NamedTuple

from api.export.qif.product import part_of
from api.export.qif.xml import Element, Ids, put, put_ids
from daq.head.characteristic import CATALOGUE
from daq.head.view import RecordView

# Which diameter is which surface, and whose axis a part's runout is taken to.
_SURFACES = {"guide.diameter": "INTERNAL", "valve.stem_diameter": "EXTERNAL"}
_AXIS_OF_PART = {
    "valve": ("A", "valve.stem_diameter", "stem on two V-blocks"),
    "seat": ("B", "guide.diameter", "axis of the guide"),
}


class Surface(NamedTuple):
    """One kind of cylinder. nominal_mm: as the plan says it."""

    name: str
    side: str
    nominal_mm: str
    definition: str
    nominal: str


class Features:
    """The cylinders of a record with their ids; nothing where the plan names no size."""

    def __init__(self, record: RecordView, ids: Ids) -> None:
        sizes = _nominals(record)
        self.surfaces = [
            Surface(name, side, sizes[name], ids.next(), ids.next())
            for name, side in _SURFACES.items()
            if name in sizes
        ]
        known = {surface.name: surface for surface in self.surfaces}
        asked = {(m.characteristic, m.position): None for m in record.measurements}
        self.items = {each: ids.next() for each in asked if each[0] in known}
        turned = {each.name for each in CATALOGUE.values() if each.capture == "turn"}
        parts = {
            part_of(m.characteristic) for m in record.measurements if m.characteristic in turned
        }
        self.frames = {
            part: (label, known[axis], title, ids.next(), ids.next())
            for part, (label, axis, title) in _AXIS_OF_PART.items()
            if part in parts and axis in known
        }

    def frame_of(self, characteristic: str) -> str | None:
        """The id of the datum frame that a runout is taken to."""
        found = self.frames.get(part_of(characteristic))
        return None if found is None else found[4]


def _nominals(record: RecordView) -> dict[str, str]:
    if not record.entries:
        return {}
    steps = record.entries[0].body.get("plan", {}).get("steps", [])
    return {step["characteristic"]: step["nominal_mm"] for step in steps if step.get("nominal_mm")}


def datums(whole: Element, places: Features) -> None:
    """DatumDefinitions and DatumReferenceFrames."""
    if not places.frames:
        return
    count = str(len(places.frames))
    defined = put(whole, "DatumDefinitions", n=count)
    for label, surface, _, datum, _ in places.frames.values():
        made = put(defined, "DatumDefinition", id=datum)
        put(made, "DatumLabel", label)
        put_ids(made, "FeatureNominalIds", [surface.nominal])
    frames = put(whole, "DatumReferenceFrames", n=count)
    for _, _, title, datum, frame in places.frames.values():
        made = put(frames, "DatumReferenceFrame", id=frame)
        one = put(put(made, "Datums", n="1"), "Datum")
        simple = put(one, "SimpleDatum")
        put(simple, "DatumDefinitionId", datum)
        put(simple, "MaterialModifier", "NONE")
        put(simple, "ReferencedComponent", "ACTUAL")
        put(put(one, "Precedence"), "PrecedenceEnum", "PRIMARY")
        put(made, "Name", title)


def features(whole: Element, places: Features) -> None:
    """The Features block."""
    if not places.surfaces:
        return
    block = put(whole, "Features")
    count = str(len(places.surfaces))
    definitions = put(block, "FeatureDefinitions", n=count)
    for surface in places.surfaces:
        made = put(definitions, "CylinderFeatureDefinition", id=surface.definition)
        put(made, "InternalExternal", surface.side)
        put(made, "Diameter", surface.nominal_mm)
    nominals = put(block, "FeatureNominals", n=count)
    for surface in places.surfaces:
        made = put(nominals, "CylinderFeatureNominal", id=surface.nominal)
        put(made, "Name", surface.name)
        put(made, "FeatureDefinitionId", surface.definition)
        axis = put(made, "Axis")
        put(axis, "AxisPoint", "0 0 0")
        put(axis, "Direction", "0 0 1")
    if not places.items:
        return
    by_name = {surface.name: surface for surface in places.surfaces}
    items = put(block, "FeatureItems", n=str(len(places.items)))
    for (name, position), item in places.items.items():
        made = put(items, "CylinderFeatureItem", id=item)
        put(made, "FeatureNominalId", by_name[name].nominal)
        put(made, "FeatureName", f"{name} {position}")
        put(put(made, "DeterminationMode"), "Checked")

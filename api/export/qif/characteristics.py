"""What was to be measured: definitions with limits, nominals, and one item a place."""

from typing import NamedTuple

from api.export.qif.features import Features
from api.export.qif.kinds import Form, Kind, kind_of, meaning_of
from api.export.qif.xml import Element, Ids, plain, put, put_attributes, put_ids
from api.export.words import name_of
from daq.head.characteristic import CATALOGUE
from daq.head.measurement import Limits, Measurement
from daq.head.plan import Place
from daq.head.view import RecordView


class Asked(NamedTuple):
    """One definition: a characteristic under one limit."""

    characteristic: str
    unit: str
    limits: Limits | None
    source: str | None

    @property
    def kind(self) -> Kind:
        """Its QIF kind."""
        return kind_of(self.characteristic, self.unit, self.limits)


class Item(NamedTuple):
    """One thing to measure, in one place."""

    asked: Asked
    position: str
    place: Place | None


class Characteristics(NamedTuple):
    """items: the id of each thing that was measured."""

    items: dict[Item, str]


def item_of(m: Measurement) -> Item:
    """What a measurement measured."""
    return Item(Asked(m.characteristic, m.unit, m.limits, m.limit_source), m.position, m.place)


def characteristics(
    whole: Element, record: RecordView, ids: Ids, standard: str, places: Features
) -> Characteristics:
    """The Characteristics block; nothing for a record without measurements."""
    items = dict.fromkeys(item_of(m) for m in record.measurements)
    if not items:
        return Characteristics({})
    asked = dict.fromkeys(item.asked for item in items)
    block = put(whole, "Characteristics")
    put(block, "FormalStandardId", standard)
    definitions = put(block, "CharacteristicDefinitions", n=str(len(asked)))
    defined = {each: _definition(definitions, each, ids.next(), places) for each in asked}
    nominals = put(block, "CharacteristicNominals", n=str(len(asked)))
    named = {each: _nominal(nominals, each, ids.next(), defined[each]) for each in asked}
    holder = put(block, "CharacteristicItems", n=str(len(items)))
    made = {item: _item(holder, item, ids.next(), named[item.asked], places) for item in items}
    _groups(block, made, ids)
    return Characteristics(made)


def _definition(holder: Element, asked: Asked, id_: str, places: Features) -> str:
    kind = asked.kind
    made = put(holder, f"{kind.element}CharacteristicDefinition", id=id_)
    limits = asked.limits
    is_text = kind.form is Form.TEXT
    put_attributes(
        made,
        {
            "characteristic": asked.characteristic,
            "unit": asked.unit if is_text else None,
            "lower": limits.lower if is_text and limits is not None else None,
            "upper": limits.upper if is_text and limits is not None else None,
            "limitSource": asked.source or None,
        },
    )
    put(made, "Name", name_of(asked.characteristic))
    if kind.element == "Diameter":
        put(put(made, "DimensionModifiers"), "DeterminationModifier", "LP")
    if kind.form is Form.ENDS:
        _tolerance(made, limits)
    if kind.form is Form.ZONE and limits is not None and limits.upper is not None:
        put(made, "ToleranceValue", plain(limits.upper))
        frame = places.frame_of(asked.characteristic)
        if kind.element == "CircularRunout" and frame is not None:
            put(made, "DatumReferenceFrameId", frame)
    if kind.element == "Perpendicularity":
        put(made, "MaterialCondition", "NONE")
        put(put(made, "ZoneShape"), "PlanarZone")
    if kind.is_described:
        put(made, "WhatToMeasure", meaning_of(asked.characteristic))
    return id_


def _tolerance(made: Element, limits: Limits | None) -> None:
    if limits is None or (limits.lower is None and limits.upper is None):
        put(made, "NonTolerance", "MEASURED")
        return
    tolerance = put(made, "Tolerance")
    if limits.upper is not None:
        put(tolerance, "MaxValue", plain(limits.upper))
    if limits.lower is not None:
        put(tolerance, "MinValue", plain(limits.lower))
    put(tolerance, "DefinedAsLimit", "true")


def _nominal(holder: Element, asked: Asked, id_: str, definition: str) -> str:
    made = put(holder, f"{asked.kind.element}CharacteristicNominal", id=id_)
    put(made, "CharacteristicDefinitionId", definition)
    about = CATALOGUE.get(asked.characteristic)
    if asked.kind.form is Form.TEXT and about is not None and about.capture == "look":
        put(put(made, "PassValues", n="1"), "StringValue", "1")
    return id_


def _item(holder: Element, item: Item, id_: str, nominal: str, places: Features) -> str:
    made = put(holder, f"{item.asked.kind.element}CharacteristicItem", id=id_)
    if item.place is not None:
        place = item.place
        put_attributes(
            made,
            {
                "depth_mm": place.depth_mm,
                "direction": place.direction,
                "length_mm": place.length_mm,
                "spot": place.spot,
            },
        )
    where = "" if item.place is None else f", {item.place}"
    put(made, "Name", f"{item.position} {name_of(item.asked.characteristic)}{where}")
    feature = places.items.get((item.asked.characteristic, item.position))
    put_ids(made, "FeatureItemIds", [] if feature is None else [feature])
    put(made, "CharacteristicNominalId", nominal)
    return id_


def _groups(block: Element, items: dict[Item, str], ids: Ids) -> None:
    """The places of one part belong together."""
    together: dict[tuple[str, str], list[str]] = {}
    for item, id_ in items.items():
        if item.place is not None:
            together.setdefault((item.position, item.asked.characteristic), []).append(id_)
    if not together:
        return
    holder = put(block, "CharacteristicGroups", n=str(len(together)))
    for (position, name), members in together.items():
        made = put(holder, "CharacteristicGroup", id=ids.next())
        put_ids(made, "CharacteristicItemIds", members)
        put(made, "Name", f"{position} {name_of(name)}")

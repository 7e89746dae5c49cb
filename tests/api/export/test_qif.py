"""QIF: valid by the standard's schema, and right where the schema cannot see."""

import pytest
from hypothesis import given, settings
from lxml import etree

from api.export import ALONE, WRITERS, ExportError, Given
from api.export.qif.checks import faults_of
from api.export.qif.document import document
from api.qif_schema import schema_check
from daq.head.characteristic import CATALOGUE
from tests.api.export.readers import Q
from tests.api.export.test_every_quantity import MANY
from tests.generators.a_made_record import made_record
from tests.generators.a_record import records


@pytest.fixture
def root():
    tree = document(made_record())
    assert faults_of(tree) == []
    return tree


@settings(parent=MANY, max_examples=40)
@given(view=records(most=25))
def test_every_record_gives_a_valid_document(qif_schema, view):
    written = b"".join(WRITERS["qif"].write(view, Given(check_qif=qif_schema)))
    assert not qif_schema(written)


def test_a_made_record_is_valid_and_complete(qif_schema):
    view = made_record()
    written = b"".join(WRITERS["qif"].write(view, Given(check_qif=qif_schema)))
    tree = etree.fromstring(written)
    kinds = {
        etree.QName(each).localname
        for each in tree.iter(f"{Q}CharacteristicMeasurements")
        for each in each
    }
    assert {
        "CircularRunoutCharacteristicMeasurement",
        "DiameterCharacteristicMeasurement",
        "DepthCharacteristicMeasurement",
        "UserDefinedLinearCharacteristicMeasurement",
    } <= kinds
    events = [each.text for each in tree.iter(f"{Q}Description")]
    assert any("-slipped" in text for text in events)
    assert (
        tree.findtext(f".//{Q}MeasurementResults/{Q}InspectionStatus/{Q}InspectionStatusEnum")
        != "PASS"
    )


def test_the_schema_turns_a_wrong_document_away(qif_schema):
    tree = document(made_record())
    tree.find(f".//{Q}CharacteristicStatusEnum").text = "fail"
    assert qif_schema(etree.tostring(tree))


def test_a_schema_that_is_not_there_is_a_sentence(tmp_path):
    with pytest.raises(ExportError, match="There is no QIF schema in"):
        schema_check(tmp_path)


def test_what_the_check_finds_keeps_a_document_in(monkeypatch):
    view = made_record()
    with pytest.raises(ExportError, match="was not written: line 3: no"):
        b"".join(WRITERS["qif"].write(view, Given(check_qif=lambda _: ["line 3: no"])))
    assert b"".join(WRITERS["qif"].write(view, ALONE))


# What the schema does not see, one by one.


def test_a_wrong_count_is_seen(root):
    root.find(f".//{Q}CharacteristicItems").set("n", "3")
    assert "CharacteristicItems says n=3" in faults_of(root)[0]


def test_an_id_beyond_the_largest_is_seen(root):
    root.set("idMax", str(int(root.get("idMax")) - 1))
    assert "idMax is" in faults_of(root)[0]


def test_pass_outside_its_limits_is_seen(root):
    failed = next(e for e in root.iter(f"{Q}CharacteristicStatusEnum") if e.text == "FAIL")
    failed.text = "PASS"
    assert "is PASS with the value 0.08" in faults_of(root)[0]


def test_pass_without_a_value_is_seen(root):
    passed = next(e for e in root.iter(f"{Q}CharacteristicStatusEnum") if e.text == "PASS")
    measured = passed.getparent().getparent()
    measured.remove(measured.find(f"{Q}Value"))
    assert "is PASS with the value None" in faults_of(root)[0]


def test_a_gauge_that_nobody_has_is_seen_in_measured_features(root):
    feature = root.find(f".//{Q}MeasuredFeatures/{Q}CylinderFeatureMeasurement")
    feature.find(f"{Q}MeasurementDeviceIds/{Q}Id").text = "999999"
    assert "names gauge 999999" in faults_of(root)[0]


@pytest.mark.parametrize("time", ["2026-11-25T09:00:00", "2026-11-25T09:00:00+01:00"])
def test_a_time_without_utc_is_seen(root, time):
    root.find(f".//{Q}TimeStamp").text = time
    assert "not a time in UTC" in faults_of(root)[0]


def test_every_characteristic_of_the_catalogue_has_a_kind_that_the_schema_knows(qif_schema):
    view = made_record()
    one = view.measurements[0]
    for about in CATALOGUE.values():
        for limits in (None, one.limits):
            m = one.model_copy(
                update={"characteristic": about.name, "unit": about.unit, "limits": limits}
            )
            alone = view.model_copy(update={"measurements": (m,)})
            assert b"".join(WRITERS["qif"].write(alone, Given(check_qif=qif_schema))), about.name

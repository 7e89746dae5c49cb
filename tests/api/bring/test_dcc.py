"""A certificate is read by what its elements are called, and never trusted further than it goes."""

from decimal import Decimal
from pathlib import Path

import pytest

from api.bring.dcc import read
from daq.head.errors import RefusedError

TEXT = (Path(__file__).parents[3] / "fixtures/dcc/example-dcc.xml").read_text()
HOSTILE = """<!DOCTYPE d [<!ENTITY e SYSTEM "file:///etc/passwd">]>
<digitalCalibrationCertificate>&e;</digitalCalibrationCertificate>"""


def test_the_certificate_is_read_in_mm():
    found = read(TEXT)
    assert (found.certificate, found.serial) == ("CAL-2026-0118", "DI-0002")
    assert found.calibrated_on == "2026-01-18"
    assert (found.gauge, found.laboratory) == ("digital dial indicator", "Example Lab")
    assert [point.reference_mm for point in found.points] == [
        Decimal(text) for text in ("0", "2.5", "5", "7.5", "10")
    ]
    assert [point.error_mm for point in found.points] == [
        Decimal(text) for text in ("0", "0.001", "0.002", "0.001", "-0.001")
    ]
    assert {(point.expanded_mm, point.k) for point in found.points} == {(Decimal("0.003"), 2)}
    assert found.error_limit_mm == Decimal("0.005")
    assert found.doubts == ()


@pytest.mark.parametrize(
    ("unit", "factor"),
    [(r"\milli\metre", "0.001"), (r"\micro\metre", "0.000001"), (r"\centi\metre", "0.01")],
)
def test_units_are_those_of_the_certificate(unit, factor):
    found = read(TEXT.replace(r"\metre", unit))
    assert found.points[2].reference_mm == Decimal("0.005") * 1000 * Decimal(factor)


def test_the_order_of_quantities_does_not_matter_and_what_is_missing_is_said():
    turned = (
        TEXT.replace("basic_referenceValue", "x")
        .replace("basic_measurementError", "basic_referenceValue")
        .replace('"x"', '"basic_measurementError"')
    )
    assert len(read(turned).points) == 5
    none = read(TEXT.replace("basic_measurementError", "basic_other"))
    assert none.points == ()
    assert none.error_limit_mm is None
    assert "no pair" in none.doubts[0]


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        (r"\metre", r"\kelvin", "no length"),
        ("0 0.0025", "zero 0.0025", "no numbers"),
        ("0 0.0025", "NaN 0.0025", "no numbers"),
        ("0 0.0025", "0.0025", "do not pair"),
    ],
)
def test_a_result_that_cannot_be_read_is_a_doubt(old, new, why):
    found = read(TEXT.replace(old, new))
    assert found.points == ()
    assert why in " ".join(found.doubts)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("no xml", "not XML"),
        ("<a/>", "no digital calibration certificate"),
        (TEXT.replace("CAL-2026-0118", ""), "no uniqueIdentifier"),
        (HOSTILE, "document type"),
    ],
)
def test_what_is_no_certificate_is_refused_with_a_sentence(text, why):
    with pytest.raises(RefusedError, match=why):
        read(text)


def test_later_spelling_of_uncertainties_is_read_too():
    later = TEXT.replace("expandedUncXMLList", "measurementUncertaintyUnivariateXMLList").replace(
        "si:uncertaintyXMLList", "si:valueExpandedMUXMLList"
    )
    assert read(later).points[0].expanded_mm == Decimal("0.003")

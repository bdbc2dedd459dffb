"""Units of the case file against their definitions, and what is said about a value without a good unit."""

from __future__ import annotations

import math

import pytest

from cases.units import UNITS, BadQuantity, Kind, parse

# Exact: inch and pound 1959 (international yard and pound agreement), standard gravity 3rd CGPM 1901; NIST SP
# 811, appendix B, gives 1 psi = 6.894757e-3 MPa, 1 gf = 9.80665e-3 N, 1 in = 25.4 mm, 1 deg = pi/180 rad.


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("0.022 in", "length", 0.5588),
        ("5mm", "length", 5.0),
        ("1 cm", "length", 10.0),
        ("50 um", "length", 0.05),
        (" -0.5e1  mm ", "length", -5.0),
        ("1 N", "force", 1.0),
        ("80 cN", "force", 0.8),
        ("250 mN", "force", 0.25),
        ("150 gf", "force", 1.4709975),
        ("180 deg", "angle", math.pi),
        ("-.5 rad", "angle", -0.5),
        ("206.8 GPa", "stress", 206800.0),
        ("30 MPa", "stress", 30.0),
        ("1 psi", "stress", 6.894757e-3),
        ("29e3 ksi", "stress", 29e6 * 6.894757e-3),
        ("35 degC", "temperature", 35.0),
    ],
)
def test_values(text: str, kind: Kind, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=2e-7)  # NIST prints seven digits


def test_every_unit_parses() -> None:
    for name, (kind, factor) in UNITS.items():
        assert parse(f"2 {name}", kind) == 2.0 * factor


@pytest.mark.parametrize(
    ("value", "kind", "said", "remedy"),
    [
        (0.022, "length", "bare number 0.022", '"0.022 in"'),
        (12, "angle", "bare number 12", '"12 deg"'),
        ("0.022", "length", "without one", '"0.022 in"'),
        ("0.022 inch", "length", 'unknown unit "inch"', 'did you mean "in"?'),
        ('0.022"', "length", "unknown unit", 'did you mean "in"?'),
        ("5 MM", "length", 'unknown unit "MM"', 'did you mean "mm"?'),
        ("5 furlong", "length", 'unknown unit "furlong"', "mm, cm, um, in"),
        ("12 degs", "angle", "unknown unit", 'did you mean "deg"?'),
        ("12°", "angle", "unknown unit", 'did you mean "deg"?'),
        ("150 g", "force", "unknown unit", 'did you mean "gf"?'),
        ("12 deg", "length", '"12 deg", which is an angle', '"0.56 mm"'),
        ("5 mm", "angle", '"5 mm", which is a length', '"12 deg"'),
        ("nan mm", "length", "no finite number", "0.56 mm"),
        ("inf mm", "length", "no finite number", "0.56 mm"),
        ("1e999 mm", "length", "no finite number", "0.56 mm"),
        (math.nan, "length", "got nan", "finite number"),
        (-math.inf, "length", "got -inf", "finite number"),
        ("0,022 in", "length", "decimal comma", "decimal point"),
        ("wide", "length", 'got "wide"', "0.56 mm"),
        ("", "length", 'got ""', "0.56 mm"),
        (True, "length", "true or false", "0.56 mm"),
        (["1 mm"], "length", "a list", "0.56 mm"),
    ],
)
def test_what_is_said(value: object, kind: Kind, said: str, remedy: str) -> None:
    with pytest.raises(BadQuantity) as caught:
        parse(value, kind)
    assert said in caught.value.message
    assert remedy in caught.value.remedy

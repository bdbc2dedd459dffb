"""Materials that yield or transform: what is refused, and why."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fem.fibre_material import Elastoplastic, Superelastic, law_of
from fem.material import LinearElastic

STEEL: dict[str, Any] = {"name": "steel", "youngs_modulus": 180e3, "poisson": 0.3, "yield_stress": 1600.0}
FLAG: dict[str, Any] = {
    "name": "flag",
    "austenite_modulus": 60e3,
    "martensite_modulus": 40e3,
    "poisson": 0.3,
    "transformation_strain": 0.06,
    "loading_start": 450.0,
    "loading_finish": 500.0,
    "unloading_start": 240.0,
    "unloading_finish": 200.0,
    "compression_ratio": 1.2,
    "clausius_clapeyron": 6.5,
    "reference_temperature": 37.0,
}


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"youngs_modulus": -1.0}, "steel: Young's modulus must be finite and above zero"),
        ({"poisson": 0.6}, "Poisson's ratio must be between -1 and 0.5"),
        ({"yield_stress": 0.0}, "the yield stress must be finite and above zero"),
        ({"yield_stress": float("nan")}, "the yield stress"),
        ({"isotropic_hardening": -10.0}, "a wire that softens breaks where it softens"),
        ({"kinematic_hardening": float("inf")}, "the kinematic hardening modulus"),
        ({"name": 3}, "the name of a material must be a text"),
    ],
)
def test_no_such_elastoplastic_material(changed: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Elastoplastic(**(STEEL | changed))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"austenite_modulus": -60e3}, "flag, austenite: Young's modulus must be finite and above zero"),
        ({"martensite_modulus": 0.0}, "Young's modulus of martensite must be finite and above zero"),
        (
            {"martensite_modulus": 61e3},
            "martensite must not be stiffer than austenite, 60000.0 MPa: got 61000.0",
        ),
        ({"transformation_strain": 6.0}, r"above zero and at most 0.2 \(0.07 is 7 %\)"),
        (
            {"loading_finish": 450.0},
            "the finish of the loading plateau must lie above the start of the loading",
        ),
        ({"loading_finish": 400.0}, "rises from start to finish; got 400.0 MPa and 450.0 MPa"),
        ({"unloading_start": 190.0}, "the start of the unloading plateau must lie above the finish"),
        ({"unloading_start": 460.0}, "would give energy away"),
        ({"unloading_finish": -5.0}, "the finish of the unloading plateau must be finite and above zero"),
        ({"compression_ratio": 0.0}, "from 0.2 to 5"),
        ({"clausius_clapeyron": -1.0}, "the growth of the plateaus with temperature"),
        ({"reference_temperature": -300.0}, "the reference temperature must be a temperature"),
    ],
)
def test_no_such_superelastic_material(changed: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Superelastic(**(FLAG | changed))


def test_a_loop_may_close_up_to_a_line() -> None:
    """Unloading may start where loading starts: nothing is given away."""
    assert Superelastic(**(FLAG | {"unloading_start": 450.0})).unloading_start == 450.0


def test_temperature_moves_the_loop_and_has_a_lower_bound() -> None:
    """6.5 MPa/K: 65 MPa for 10 degrees; 200 MPa of lower finish are used up 30.8 degrees below the reference."""
    flag = Superelastic(**FLAG)
    assert flag.shift() == flag.shift(37.0) == 0.0
    assert flag.shift(47.0) == pytest.approx(65.0)
    assert flag.shift(7.0) == pytest.approx(-195.0)
    with pytest.raises(
        ValueError, match="at 6 degC martensite does not go back when unloaded.*above 6.231 degC"
    ):
        flag.shift(6.0)
    with pytest.raises(ValueError, match="the temperature must be a temperature"):
        flag.shift(float("nan"))


def test_laws_are_numbers_only() -> None:
    """b = (r - 1)/(r + 1), so that compression starts at r times the stress of tension."""
    for material in (LinearElastic("e", 180e3, 0.3), Elastoplastic(**STEEL), Superelastic(**FLAG)):
        kind, law = law_of(material, 37.0)
        assert law.dtype == np.float64 and np.isfinite(law).all() and kind in (0, 1, 2)
    assert law_of(Superelastic(**FLAG))[1][4] == pytest.approx(0.2 / 2.2)

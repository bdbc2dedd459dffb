"""The superelastic loop in tension and in bending: closed forms, an independent table, and how ASTM F2516 reads it.

Constants of a worked example of a general finite-element manual (from memory), in the framework of Auricchio, Taylor &
Lubliner, Comput. Methods Appl. Mech. Engng 146 (1997) 281: E 60 GPa, loading 520 to 600, unloading 300 to 200 MPa,
transformation strain 7 %, tension and compression alike.  For linear kinetics and one modulus the loop is, with the
share x0 of martensite where unloading begins,

    loading    s = (E e + E eL ss/(sf - ss))/(1 + E eL/(sf - ss)),
    unloading  s = (E e + E eL x0 tf/(ts - tf))/(1 + E eL x0/(ts - tf));

the tables were computed from these apart from this program, that of bending by quadrature.  All is verification: no
measurement enters.
"""

from __future__ import annotations

import numpy as np
import pytest

from fem.fibre_material import Superelastic
from fem.fibre_paths import AXIAL, BEND_Z, follow, load_and_release
from fem.fibre_section import FibreSection
from geometry.section import Rectangle, Round

FLAG = Superelastic("flag", 60e3, 60e3, 0.3, 0.07, 520.0, 600.0, 300.0, 200.0)
WIRE = Round(0.4064)
E, EL, SS, SF, TS, TF = 60e3, 0.07, 520.0, 600.0, 300.0, 200.0
LOADING = {0.5: 300.0, 1.0: 521.50, 2.0: 532.71, 4.0: 555.14, 6.0: 577.57, 8.0: 600.0, 9.0: 1200.0}
UNLOADING = {5.5: 299.28, 5.0: 289.67, 4.0: 270.46, 2.0: 232.03, 1.0: 212.81, 0.5: 203.20}
"""Stress (MPa) at a strain (%), unloading from 6 %."""
BENT = {
    0.02: 1.6068, 0.04: 3.2136, 0.05: 3.9592, 0.06: 4.4734, 0.08: 5.0532, 0.10: 5.3539, 0.15: 5.7058, 0.20: 5.8799,
    0.25: 6.0012, 0.30: 6.1015, 0.40: 6.2786,
}  # fmt: skip
BENT_BACK = {0.20: 3.3582, 0.15: 2.9530, 0.10: 2.6068, 0.05: 2.2299, 0.02: 1.5701, 0.0: 0.0}
"""Moment (N mm) at a curvature (1/mm) of a round wire of 0.4064 mm, back from 0.25."""


def tension(percent: list[float], material: Superelastic = FLAG, warm: float | None = None) -> np.ndarray:
    """Stresses (MPa) at strains (%) in turn."""
    path = follow(FibreSection(WIRE, material, 3), AXIAL, np.array(percent) / 100.0, (), warm)
    return path.resultants[:, AXIAL] / WIRE.area


@pytest.mark.parametrize("steps", [1, 7])
def test_loading(steps: int) -> None:
    """0.1 %, in seven strides and in steps between them."""
    strides = np.array([0.0, *LOADING])
    values = np.interp(np.arange(1, 7 * steps + 1) / steps, np.arange(8), strides)
    stress = tension(values.tolist())[steps - 1 :: steps]
    np.testing.assert_allclose(stress, list(LOADING.values()), rtol=1e-3)
    within = 0.01 * strides[2:7]
    slope = E * EL / (SF - SS)
    np.testing.assert_allclose(stress[1:6], (E * within + slope * SS) / (1.0 + slope), rtol=1e-10)


def test_unloading_from_six_per_cent() -> None:
    """0.1 %; 300 MPa is passed first, elastically."""
    path = follow(FibreSection(WIRE, FLAG, 3), AXIAL, np.array([6.0, *UNLOADING]) / 100.0, ())
    stress = path.resultants[:, AXIAL] / WIRE.area
    np.testing.assert_allclose(stress[1:], list(UNLOADING.values()), rtol=1e-3)
    share = path.martensite[0]
    assert share == pytest.approx(0.7196, abs=1e-4)
    slope = E * EL * share / (TS - TF)
    within = np.array(list(UNLOADING)) / 100.0
    np.testing.assert_allclose(stress[1:], (E * within + slope * TF) / (1.0 + slope), rtol=1e-10)


def test_plateaus_as_the_standard_reads_them() -> None:
    """ASTM F2516: upper plateau at 3 % on loading, lower at 2.5 % on unloading from 6 %: 543.9 and 241.6 MPa."""
    upper, _, lower = tension([3.0, 6.0, 2.5])
    assert upper == pytest.approx(543.9, rel=1e-3)
    assert lower == pytest.approx(241.6, rel=1e-3)


def test_a_whole_loop_dissipates_the_area_between_its_plateaus() -> None:
    """eL ((ss + sf)/2 - (ts + tf)/2) = 0.07 (560 - 250) = 21.7 MJ/m^3, by the law and by the work done; twice alike."""
    path, ways = load_and_release(FibreSection(WIRE, FLAG, 3), AXIAL, [0.09, 0.09], 900, ())
    ends = [ways[1].end - 1, ways[3].end - 1]
    np.testing.assert_allclose(path.dissipated[ends] / WIRE.area, [21.7, 43.4], rtol=1e-9)
    np.testing.assert_allclose(path.work()[ends] / WIRE.area, [21.7, 43.4], rtol=1e-3)
    np.testing.assert_allclose(path.strains[ends, AXIAL], 0.0, atol=1e-14)


@pytest.mark.parametrize("turned", [False, True])
def test_moment_and_curvature_of_a_round_wire(turned: bool) -> None:
    """0.5 %, loading and unloading; bent to the other side the same."""
    sign = -1.0 if turned else 1.0
    section = FibreSection(WIRE, FLAG)
    out = follow(section, BEND_Z, sign * np.array(list(BENT)))
    np.testing.assert_allclose(sign * out.resultants[:, BEND_Z], list(BENT.values()), rtol=5e-3)
    ways = follow(section, BEND_Z, sign * np.array([*np.linspace(0.01, 0.25, 25), *BENT_BACK]))
    back = sign * ways.resultants[25:, BEND_Z]
    np.testing.assert_allclose(back[:-1], list(BENT_BACK.values())[:-1], rtol=5e-3)
    assert abs(back[-1]) < 1e-9 and not ways.martensite[-1]


def test_the_figures_converge() -> None:
    """Finer fibres come nearer to the table of bending: 1.5 times as many each way, to its digits at last."""
    errors = []
    for divisions in (4, 8, 16):
        path = follow(FibreSection(WIRE, FLAG, divisions), BEND_Z, list(BENT))
        errors.append(np.abs(path.resultants[:, BEND_Z] / np.array(list(BENT.values())) - 1.0).max())
    assert errors[0] > errors[1] > errors[2] and errors[2] < 5e-4


def test_a_rectangle_bent_past_its_plateau_carries_the_moment_of_blocks() -> None:
    """Far beyond the start and with a flat plateau the stress is a block: M -> s b h^2/4 less the elastic core,
    s b (h^2/4 - (s/(E k))^2/3), as in plasticity (Timoshenko, Strength of Materials, part II; from memory)."""
    flat = Superelastic("flat", 60e3, 60e3, 0.3, 0.07, 500.0, 500.01, 300.0, 299.99)
    section = FibreSection(Rectangle(0.4064, 0.5588), flat)
    curvature = 0.2
    moment = follow(section, BEND_Z, np.linspace(0.02, curvature, 10)).resultants[-1, BEND_Z]
    core = 500.0 / 60e3 / curvature
    assert moment == pytest.approx(500.0 * 0.5588 * (0.4064**2 / 4.0 - core**2 / 3.0), rel=1e-3)


def test_plateaus_move_with_temperature() -> None:
    """Clausius and Clapeyron: all four stresses by 6.5 MPa/K; the reading at 3 % as the closed form with shifted
    stresses says."""
    material = Superelastic("warm", 60e3, 60e3, 0.3, 0.07, 520.0, 600.0, 300.0, 200.0, 1.0, 6.5, 37.0)
    slope = E * EL / (SF - SS)
    for warm in (27.0, 37.0, 55.0):
        upper = tension([3.0], material, warm)[0]
        start = SS + 6.5 * (warm - 37.0)
        assert upper == pytest.approx((E * 0.03 + slope * start) / (1.0 + slope), rel=1e-9)

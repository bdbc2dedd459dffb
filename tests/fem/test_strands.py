"""Multistrand wire as a section: closed forms, a helix solved as a rod, bounds, published stiffness."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.material import LinearElastic
from fem.model import Clamp
from fem.path import engage
from fem.rods import Held, Load, rod
from fem.section_law import LinearSection
from fem.strands import Strands, lay_angle_of
from fem.torsion import torsion_constant
from geometry.section import Rectangle, Round
from geometry.wire_shapes import Curved, PassiveShape

INCH = 25.4
STEEL = LinearElastic("steel", 180e3, 0.3)
EA, GJ, EI_Y, EI_Z = 0, 3, 4, 5


def solid(diameter: float, material: LinearElastic = STEEL) -> np.ndarray:
    """Six stiffnesses of a solid round wire."""
    section = Round(diameter)
    return LinearSection.of(section, material, torsion_constant(section)).stiffness


def test_parallel_strands_are_so_many_wires_side_by_side() -> None:
    """Lay angle 0: every stiffness is n times that of one strand, exactly."""
    assert Strands(3, 0.2).law(STEEL).stiffness == pytest.approx(3.0 * solid(0.2), rel=1e-12)
    cored = Strands(6, 0.2, core=0.2).law(STEEL).stiffness
    assert cored == pytest.approx(7.0 * solid(0.2), rel=1e-12)


@pytest.mark.parametrize(
    ("many", "over"),
    [(2, 2.0), (3, 1.0 + 2.0 / math.sqrt(3.0)), (4, 1.0 + math.sqrt(2.0)), (6, 3.0)],
)
def test_the_outline_is_the_circle_round_touching_strands(many: int, over: float) -> None:
    """Circles in a ring: 2, 2.1547, 2.4142 and 3 diameters."""
    assert Strands(many, 0.2).outline.height == pytest.approx(over * 0.2, rel=1e-12)


def test_strands_at_an_angle_touch_along_helices() -> None:
    """The nearest distance of the middle lines of two neighbours is one diameter, found by searching."""
    wire = Strands(3, 0.2, math.radians(25.0))
    rise = wire.radius / math.tan(wire.lay_angle)  # axial way per radian
    turn = np.linspace(-1.5, 1.5, 20001)
    other = turn + 2.0 * math.pi / 3.0
    apart = np.hypot(
        2.0 * wire.radius * np.sin(0.5 * other), rise * turn
    )  # from the place 0 of one helix to the next
    assert apart.min() == pytest.approx(0.2, rel=2e-2)


@pytest.mark.parametrize("lay", [10.0, 25.0, 40.0])
def test_a_strand_is_as_stiff_as_a_helix_solved_as_a_rod(lay: float) -> None:
    """Twelve turns of one helix, built in at one end, a small moment at the other: across the axis and about it.

    The mean curvature and twist of whole turns are M/EI and T/GJ of the closed form; 0.2 %, what the ends of a
    discrete helix leave."""
    angle, radius, diameter = math.radians(lay), 0.12, 0.2
    curvature, torsion = math.sin(angle) ** 2 / radius, math.sin(angle) * math.cos(angle) / radius
    turns = 12.0
    wire_length = turns * 2.0 * math.pi * radius / math.sin(angle)
    shape = PassiveShape((Curved((torsion, 0.0, curvature), wire_length),))
    axis_length = wire_length * math.cos(angle)
    across, along = np.array([0.0, 1.0, 0.0]), np.array([math.cos(angle), 0.0, math.sin(angle)])
    # the axis of the helix in the frame of its start: tangent and binormal (Darboux' vector)
    axis = np.array([torsion, 0.0, curvature]) / math.hypot(torsion, curvature)
    assert axis == pytest.approx(along)
    one = Strands(2, diameter, angle).law(STEEL).stiffness / 2.0
    for moment, stiffness in (
        (1e-3 * across, one[EI_Z]),
        (1e-3 * np.cross(axis, across), one[EI_Y]),
        (1e-3 * axis, one[GJ]),
    ):
        model = rod(
            shape,
            Round(diameter),
            STEEL,
            [Held(Clamp(), 0.0)],
            [Load(wire_length, moment=moment)],
            elements=600,
        )
        snapshot = engage(model).last.snapshot
        _, before = model.passive_frames(np.array([wire_length]))
        turned = snapshot.axes[-1] @ before[0].T
        angle_turned = (
            np.array([turned[2, 1] - turned[1, 2], turned[0, 2] - turned[2, 0], turned[1, 0] - turned[0, 1]])
            / 2.0
        )
        size = float(np.linalg.norm(moment))
        assert angle_turned @ moment / size == pytest.approx(size * axis_length / stiffness, rel=2e-3)


def test_bending_falls_with_the_lay_angle_as_a_rope() -> None:
    """2 sin a/(2 + nu cos^2 a) (Costello 1997, from memory), a = 70 deg: 1.8794/2.0351 = 0.9235."""
    wire, straight = Strands(3, 0.2, math.radians(20.0)), Strands(3, 0.2)
    ratio = wire.law(STEEL).stiffness[EI_Z] / straight.law(STEEL).stiffness[EI_Z]
    assert ratio == pytest.approx(0.9235, abs=1e-4)
    assert wire.law(STEEL).stiffness[EA] / straight.law(STEEL).stiffness[EA] == pytest.approx(
        math.cos(math.radians(20.0)) ** 3
    )


def test_grown_together_is_the_solid_of_the_cross_section() -> None:
    """Steiner: three touching circles, I = 3 (pi d^4/64 + (pi d^2/4) (d^2/3)/2) = 11 pi d^4/64."""
    wire = Strands(3, 0.2)
    assert wire.bonded(STEEL).stiffness[EI_Z] == pytest.approx(
        180e3 * 11.0 * math.pi * 0.2**4 / 64.0, rel=1e-12
    )
    seven = Strands(6, 0.2, core=0.2)  # 7 + 6 x 8: 55 strands' worth
    assert seven.bonded(STEEL).stiffness[EI_Z] == pytest.approx(55.0 * solid(0.2)[EI_Z], rel=1e-12)


@pytest.mark.parametrize(
    "wire",
    [Strands(3, 0.2, 0.3), Strands(6, 0.15, 0.4, 0.18), Strands(8, 0.15, 0.2, flat=Rectangle(0.4, 0.6))],
)
def test_sliding_is_softer_than_grown_together_and_than_the_outline(wire: Strands) -> None:
    free, bonded = wire.law(STEEL).stiffness, wire.bonded(STEEL).stiffness
    assert (free <= bonded).all()
    filled = STEEL.youngs_modulus * np.array([wire.outline.second_moment_y, wire.outline.second_moment_z])
    assert (bonded[[EI_Y, EI_Z]] <= filled * (1.0 + 1e-12)).all()


@pytest.mark.parametrize("lay", [0.0, 15.0, 30.0])
def test_three_strands_are_as_stiff_as_a_thinner_round_wire(lay: float) -> None:
    """3 x 0.008 in bends like 0.010 in round (Kusy & Dilley, Am J Orthod 86 (1984) 177; page from memory): 25 %.

    Straight strands give 3 x 0.008^4/0.010^4 = 1.23; their lay takes some of it."""
    ratio = Strands(3, 0.008 * INCH, math.radians(lay)).law(STEEL).stiffness[EI_Z] / solid(0.010 * INCH)[EI_Z]
    assert ratio == pytest.approx(1.0, abs=0.25)
    assert Strands(3, 0.008 * INCH).law(STEEL).stiffness[EI_Z] / solid(0.010 * INCH)[EI_Z] == pytest.approx(
        1.2288, rel=1e-4
    )


@pytest.mark.parametrize(
    "wire",
    [
        Strands(3, 0.008 * INCH, math.radians(15.0)),
        Strands(6, 0.0065 * INCH, math.radians(15.0), 0.0065 * INCH),
        Strands(8, 0.0055 * INCH, math.radians(15.0), flat=Rectangle(0.016 * INCH, 0.022 * INCH)),
    ],
    ids=["three", "six round a core", "braid of eight"],
)
def test_apparent_moduli_lie_in_the_published_range(wire: Strands) -> None:
    """Multistrand steel: 6.1 to 35.2 GPa (Goldberg, Morton & Burstone, J Dent Res 62 (1983) 856).

    Grown together three or seven strands would lie far above it: real strands slide."""
    assert 6.1e3 < wire.apparent_modulus(STEEL) < 35.2e3
    assert wire.bonded(STEEL).stiffness[EI_Z] / wire.outline.second_moment_z > 35.2e3


def test_a_strand_is_stressed_by_the_curvature_as_a_wire_of_its_own_size() -> None:
    """E kappa d/2 for straight strands, however thick the wire they make; all three hold alike a core of their size."""
    for wire in (Strands(3, 0.2), Strands(6, 0.2, core=0.2)):
        stiffness = wire.law(STEEL).stiffness
        curvature = 0.01
        resultants = np.array(
            [[0.0, 0.0, 0.0, 0.0, 0.6 * curvature * stiffness[EI_Y], 0.8 * curvature * stiffness[EI_Z]]]
        )
        axial, shear, equivalent = wire.stresses(STEEL, resultants)
        assert axial[0] == equivalent[0] == pytest.approx(180e3 * curvature * 0.1, rel=1e-9)
        assert shear[0] == pytest.approx(0.0, abs=1e-9)


def test_stresses_in_a_laid_strand() -> None:
    """Bent: E kappa (d/2) 2 sin a/(2 + nu cos^2 a) where the strand's normal is in the plane.  Drawn: N/(n A sin a).

    Twisted: torque T sin a, moment T cos a on each of n strands."""
    angle = math.radians(20.0)
    sine, cosine = math.cos(angle), math.sin(angle)
    wire = Strands(3, 0.2, angle)
    stiffness = wire.law(STEEL).stiffness
    modulus = math.pi * 0.2**3 / 32.0
    rows = np.zeros((3, 6))
    rows[0, 5] = 0.01 * stiffness[EI_Z]
    rows[1, 0] = 5.0
    rows[2, 3] = 0.6
    axial, shear, equivalent = wire.stresses(STEEL, rows)
    assert equivalent[0] == pytest.approx(180e3 * 0.01 * 0.1 * 2.0 * sine / (2.0 + 0.3 * cosine**2), rel=1e-9)
    assert axial[1] == pytest.approx(5.0 / (3.0 * 0.01 * math.pi * sine), rel=1e-9)
    assert axial[2] == pytest.approx(0.2 * cosine / modulus, rel=1e-9)
    assert shear[2] == pytest.approx(0.2 * sine / (2.0 * modulus), rel=1e-9)
    assert equivalent[2] == pytest.approx(math.sqrt(axial[2] ** 2 + 3.0 * shear[2] ** 2), rel=1e-9)


def test_energy_of_the_strands_is_that_of_the_wire() -> None:
    """Work of M over the curvature M/EI equals the energy of all strands over a turn, summed place by place."""
    angle, moment = math.radians(30.0), 2.0
    sine, cosine = math.cos(angle), math.sin(angle)
    wire, strand = Strands(3, 0.2, angle), solid(0.2)
    place = np.linspace(0.0, 2.0 * math.pi, 400, endpoint=False)
    own = moment / 3.0
    bent = (own * np.cos(place)) ** 2 + (own * np.sin(place) * sine) ** 2
    energy = (
        3.0
        / sine
        * (bent / (2.0 * strand[EI_Z]) + (own * np.sin(place) * cosine) ** 2 / (2.0 * strand[GJ])).mean()
    )
    assert energy == pytest.approx(moment**2 / (2.0 * wire.law(STEEL).stiffness[EI_Z]), rel=1e-12)


def test_lay_length_and_lay_angle() -> None:
    """tan = 2 pi r/length, and r is that of the strands at this angle."""
    angle = lay_angle_of(3, 0.2, 4.0)
    assert math.tan(angle) == pytest.approx(2.0 * math.pi * Strands(3, 0.2, angle).radius / 4.0, rel=1e-12)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Strands(1, 0.2), "needs from 2 to 100"),
        (lambda: Strands(101, 0.2), "needs from 2 to 100"),
        (lambda: Strands(3, 0.0), "the diameter of a strand must be a finite length above zero"),
        (lambda: Strands(3, 0.2, math.radians(70.0)), "from 0 to 60 deg"),
        (lambda: Strands(8, 0.2, flat=Rectangle(0.4, 0.5)), "holds only 0.2 mm^2"),
        (lambda: lay_angle_of(3, 0.2, 0.3), "take a longer lay length"),
        (lambda: lay_angle_of(3, 0.2, -1.0), "a lay length must be finite and above zero"),
    ],
)  # fmt: skip
def test_what_cannot_be(make: object, words: str) -> None:
    with pytest.raises(ValueError, match="(?s).*") as caught:
        make()  # type: ignore[operator]
    assert words in str(caught.value)

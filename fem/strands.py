"""A wire of several strands that slide on each other: its stiffness as a section, its bounds, the stress in a strand.

The strands are helices of radius r about the wire's axis, which they climb at the angle a to the cross-section (90 deg
less the lay angle).  They are not bonded and slide without friction; each is a round rod that bends and twists.

Bending.  A moment M across the wire's axis has, at the place f round a helix, the parts M cos f about the strand's
normal, -M sin f sin a about its binormal and M sin f cos a along its tangent.  A strand is longer than the wire by
1/sin a, and its torsional rigidity is EI/(1 + nu), so the energy of n strands under M/n each, over a whole turn,

    M^2/(2 n E I sin a) (1/2) [1 + sin^2 a + (1 + nu) cos^2 a],

gives the rigidity n E I 2 sin a/(2 + nu cos^2 a): that of a helical spring (Timoshenko, Strength of Materials, part II)
and of a rope (Costello, Theory of Wire Rope, 2nd ed. 1997, both from memory).  A core in the middle adds its own.

Torsion.  A torque T about the axis has T sin a along the tangent and T cos a about the binormal: n E I sin a/(1 + nu
sin^2 a), the wire being free to become shorter or longer.  Stretch, without unwinding and with the strands resting on
each other: n E A sin^3 a (Hruska, Wire and Wire Products 26 (1951), from memory).  Shear: as many strands side by side.

This is the softest the wire can be.  Bonded together, as one solid of the same strands, it is stiffest; friction
between strands keeps a real one, at small curvature, between the two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.material import LinearElastic
from fem.section_law import LinearSection, shear_coefficients
from geometry.checks import LONGEST, SHORTEST, count, length, length_or_zero, number, one_of, rows
from geometry.section import Rectangle, Round, Section

Array = NDArray[np.float64]

STEEPEST = math.radians(60.0)
"""Lay angle beyond which strands are a coil rather than a wire."""
MOST_STRANDS = 100
AROUND = 72
"""Places round the helix at which the stress is looked at: the largest is missed by less than 1e-3 of it."""


@dataclass(frozen=True, slots=True)
class Strands:
    """``number_of`` round strands of one ``diameter`` (mm), laid at ``lay_angle`` (rad) to the wire's axis.

    They lie round a ``core`` of this diameter (mm), which may be loose, or rest on each other (0).  ``flat``: the
    outline of a braid, which is rolled flat; its strands are taken to bend as those of a round wire.  Raises ValueError
    where they do not fit.
    """

    number_of: int
    diameter: float
    lay_angle: float = 0.0
    core: float = 0.0
    flat: Rectangle | None = None

    def __post_init__(self) -> None:
        must = f"needs from 2 to {MOST_STRANDS} of them"
        many = count("a wire of strands", self.number_of, 2, must)
        if many > MOST_STRANDS:
            raise ValueError(f"a wire of strands {must}: got {many}")
        object.__setattr__(self, "number_of", many)
        object.__setattr__(self, "diameter", length("the diameter of a strand", self.diameter))
        what = "the lay angle of strands"
        lay = number(what, self.lay_angle, "rad", 0.0, STEEPEST, "from 0 to 60 deg from the wire's axis")
        object.__setattr__(self, "lay_angle", lay)
        object.__setattr__(self, "core", length_or_zero("the diameter of a core", self.core))
        if self.flat is not None:
            one_of(Rectangle, self.flat, "the outline of a braid")
            if self.area > self.flat.area:
                raise ValueError(
                    f"the strands fill {self.area:.4g} mm^2 of a cross-section, and the outline of the braid holds "
                    f"only {self.flat.area:.4g} mm^2; take fewer or thinner strands, or a larger outline"
                )

    @property
    def _climb(self) -> tuple[float, float]:
        """Sine and cosine of the angle between strand and cross-section."""
        return math.cos(self.lay_angle), math.sin(self.lay_angle)

    @property
    def _touching(self) -> float:
        """Radius (mm) of the helices of strands that touch their neighbours (Costello 1997, from memory)."""
        sine, _ = self._climb
        return (
            0.5 * self.diameter * math.hypot(1.0, math.tan(0.5 * math.pi - math.pi / self.number_of) / sine)
        )

    @property
    def radius(self) -> float:
        """Of the helices on which the strands' middles lie, mm."""
        return max(self._touching, 0.5 * (self.core + self.diameter) if self.core > 0.0 else 0.0)

    @property
    def outline(self) -> Section:
        """What walls meet: the circle round all strands, or the braid's rectangle."""
        return self.flat if self.flat is not None else Round(2.0 * self.radius + self.diameter)

    @property
    def area(self) -> float:
        """Metal in the cross-section, mm^2: strands are cut aslant."""
        sine, _ = self._climb
        return 0.25 * math.pi * (self.number_of * self.diameter**2 / sine + self.core**2)

    def law(self, material: LinearElastic) -> LinearSection:
        """The section, strands sliding freely."""
        return LinearSection(self._stiffness(material))

    def _stiffness(self, material: LinearElastic) -> Array:
        e, g, nu, n = material.youngs_modulus, material.shear_modulus, material.poisson, self.number_of
        sine, cosine = self._climb
        area, core_area = (0.25 * math.pi * d * d for d in (self.diameter, self.core))
        moment, core_moment = self._moments
        shear = shear_coefficients(Round(self.diameter), nu) * g * (n * area + core_area)
        bending = e * (n * moment * 2.0 * sine / (2.0 + nu * cosine**2) + core_moment)
        torsion = e * n * moment * sine / (1.0 + nu * sine**2) + 2.0 * g * core_moment
        return np.array([e * (n * area * sine**3 + core_area), shear, shear, torsion, bending, bending])

    def bonded(self, material: LinearElastic) -> LinearSection:
        """The same strands grown together: stiffer than any real wire of them.

        Bending and stretch are those of the cross-section; the torsion constant is no larger than its polar moment
        (Saint-Venant's warping only softens).  A braid is as stiff as its outline filled up.
        """
        e, g = material.youngs_modulus, material.shear_modulus
        if self.flat is not None:
            about_y, about_z = self.flat.second_moment_y, self.flat.second_moment_z
            area = self.flat.area
        else:
            sine, _ = self._climb
            own, core = self._moments
            strand = 0.25 * math.pi * self.diameter**2 / sine
            # ellipses with the half-axes d/2 and d/(2 sin a), met at all angles round the wire
            ellipse = 0.5 * own * (1.0 / sine + 1.0 / sine**3)
            about_y = about_z = self.number_of * (ellipse + 0.5 * strand * self.radius**2) + core
            area = self.area
        shear = shear_coefficients(self.outline, material.poisson) * g * area
        return LinearSection(
            np.array([e * area, shear, shear, g * (about_y + about_z), e * about_y, e * about_z])
        )

    @property
    def _moments(self) -> tuple[float, float]:
        """Second moments of a strand's own section and of the core's, mm^4."""
        return math.pi * self.diameter**4 / 64.0, math.pi * self.core**4 / 64.0

    def apparent_modulus(self, material: LinearElastic) -> float:
        """Young's modulus (MPa) of a solid wire of the same outline that is as stiff in bending (second order)."""
        return float(self.law(material).stiffness[5] / self.outline.second_moment_z)

    def stresses(self, material: LinearElastic, resultants: ArrayLike) -> tuple[Array, Array, Array]:
        """Largest stress along a strand, largest shear stress and a bound of von Mises' stress, (n,) each in MPa.

        ``resultants`` (n, 6) are those of the whole wire, in the order of `fem.section_law`.  Each strand bears its
        share of bending and torsion by its rigidity, of a pull by its stretch, of shear by its area (4/3 of the mean
        at most).  The core is looked at too.  Pressure of strands on each other is left out.
        """
        r = rows("section resultants", resultants, 6)
        e, g, nu = material.youngs_modulus, material.shear_modulus, material.poisson
        sine, cosine = self._climb
        stretch, _, _, twisting, bending, _ = self._stiffness(material)
        own, core = self._moments
        area = 0.25 * math.pi * self.diameter**2
        metal = self.number_of * area + 0.25 * math.pi * self.core**2
        pull = (
            r[:, 0] * e * sine**2 / stretch
        )  # of a strand's stretch along itself, sin^2 of that of the wire
        across = 4.0 / 3.0 * np.hypot(r[:, 1], r[:, 2]) / metal
        moment = np.hypot(r[:, 4], r[:, 5])
        bent = moment * (e * own * 2.0 * sine / (2.0 + nu * cosine**2)) / bending
        turned = r[:, 3] * (e * own * sine / (1.0 + nu * sine**2)) / twisting
        place = np.linspace(0.0, 2.0 * math.pi, AROUND, endpoint=False)
        normal = bent[:, None] * np.cos(place)
        binormal = -bent[:, None] * np.sin(place) * sine + turned[:, None] * cosine
        along = bent[:, None] * np.sin(place) * cosine + turned[:, None] * sine
        half = 0.5 * self.diameter
        axial = np.abs(pull)[:, None] + np.hypot(normal, binormal) * half / own
        shear = np.abs(along) * half / (2.0 * own) + across[:, None]
        equivalent = np.sqrt(axial**2 + 3.0 * shear**2).max(axis=1)
        axial, shear = axial.max(axis=1), shear.max(axis=1)
        if self.core > 0.0:
            half = 0.5 * self.core
            core_axial = np.abs(r[:, 0]) * e / stretch + moment * e * half / bending
            core_shear = np.abs(r[:, 3]) * g * half / twisting + across
            equivalent = np.maximum(equivalent, np.sqrt(core_axial**2 + 3.0 * core_shear**2))
            axial, shear = np.maximum(axial, core_axial), np.maximum(shear, core_shear)
        return axial, shear, equivalent

    @property
    def label(self) -> str:
        """In words: "3 strands of 0.203 mm, lay angle 15 deg"."""
        core = f" round a core of {self.core:.3f} mm" if self.core > 0.0 else ""
        kind = ", braided" if self.flat is not None else ""
        return (
            f"{self.number_of} strands of {self.diameter:.3f} mm{core}{kind}, lay angle "
            f"{math.degrees(self.lay_angle):.3g} deg"
        )


def lay_angle_of(number_of: int, diameter: float, lay_length: float, core: float = 0.0) -> float:
    """Lay angle (rad) of strands that go once round the wire in ``lay_length`` (mm): tan = 2 pi r/length.

    The radius of strands that touch grows with the angle, so both are found together.  Raises ValueError for strands
    that do not fit or a lay length too short for them.
    """
    lay_length = number("a lay length", lay_length, "mm", SHORTEST, LONGEST, "finite and above zero")
    angle = 0.0
    for _ in range(200):
        before, angle = (
            angle,
            math.atan(
                2.0 * math.pi * Strands(number_of, diameter, min(angle, STEEPEST), core).radius / lay_length
            ),
        )
        if angle > STEEPEST:
            break
        if abs(angle - before) < 1e-14:
            return angle
    raise ValueError(
        f"{number_of} strands of {diameter:.4g} mm cannot go round in {lay_length:.4g} mm: they would lie at more than "
        "60 deg to the wire; take a longer lay length"
    )

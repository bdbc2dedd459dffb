"""A short piece of wire bent evenly through a large angle and let go: stiffness, springback, how far without a set.

Length L, ends turned against each other by theta: curvature theta/L, moment M(theta), steel's stiffness E I/L.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.fibre_material import FibreMaterial, Superelastic
from fem.fibre_paths import AXIAL, BEND_Z, load_and_release
from fem.fibre_section import FibreSection
from geometry.section import Section

Array = NDArray[np.float64]

LENGTH = 5.0
"""mm: a short cantilever of the trade's flexure tests (from memory)."""
LARGE, SMALL = math.radians(80.0), math.radians(5.0)
"""rad: the largest and smallest activation of such tests (from memory)."""
APPRECIABLE = 0.05
"""rad: set at which the ADA specification 32 of 1977 reads yield, 2.9 deg (from memory)."""
STEPS = 120
NOTHING = 1e-9
"""rad: rounding, not a set."""


@dataclass(frozen=True, slots=True)
class Flexed:
    """A piece bent to ``LARGE`` and let go."""

    angle: Array
    """(k,) rad, going out, from rest."""
    moment: Array
    """(k,) N mm."""
    back_angle: Array
    """(m,) rad, on the way back until nothing acts, growing."""
    back_moment: Array
    """(m,) N mm."""

    @property
    def left(self) -> float:
        """Angle that is left, rad."""
        left = float(self.back_angle[0])
        return left if abs(left) > NOTHING else 0.0

    @property
    def recovered(self) -> float:
        """Angle that comes back, rad."""
        return float(self.angle[-1]) - self.left

    @property
    def limit(self) -> float:
        """Angle, rad, to which it can be bent until ``APPRECIABLE`` is left: theta - M L/(E I) where it unloads in a
        straight line; all of it where less is left of the largest."""
        if self.left < APPRECIABLE:
            return float(self.angle[-1])
        compliance = self.angle[1] / self.moment[1]
        return float(np.interp(APPRECIABLE, self.angle - self.moment * compliance, self.angle))

    def going_out(self, angle: float) -> float:
        """Moment, N mm, at ``angle`` (rad) of the way out."""
        return float(np.interp(angle, self.angle, self.moment))

    def coming_back(self, angle: float) -> float:
        """Moment, N mm, at ``angle`` (rad) of the way back."""
        return float(np.interp(angle, self.back_angle, self.back_moment))


def flex(section: Section, material: FibreMaterial, temperature: float | None = None) -> Flexed:
    """Bent in second order, without axial force.  Raises `fem.fibre_section.Unbalanced` where a step finds no rest."""
    peak = LARGE / LENGTH
    path, (out, back) = load_and_release(
        FibreSection(section, material), BEND_Z, [peak], STEPS, (AXIAL,),
        temperature if isinstance(material, Superelastic) else None,
    )  # fmt: skip
    angle, moment = path.strains[:, BEND_Z] * LENGTH, path.resultants[:, BEND_Z]
    return Flexed(
        angle[: out.end], moment[: out.end], angle[out.end - 1 : back.end][::-1],
        moment[out.end - 1 : back.end][::-1],
    )  # fmt: skip

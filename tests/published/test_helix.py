"""A rod held as a helix by a wrench: Love, Mathematical Theory of Elasticity (4th ed. 1927), art. 270.

A rod of equal bending stiffnesses B, wound on radius r with pitch angle a and carrying the torque H along its own axis,
needs on the helix's axis the force R = H cos(a)/r - B sin(a) cos^2(a)/r^2 and the couple K = H sin(a) + B cos^3(a)/r.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.beam_kernel import assemble_wrenches, element_screws, section_wrenches
from fem.model import Clamp
from fem.path import Leg, engage
from fem.section_law import LinearSection
from geometry.pose import Pose
from geometry.wire_shapes import Curved, PassiveShape, Straight
from tests.fem_problems import ANY_SECTION, Held, slender_stiffness, wire_between

Array = NDArray[np.float64]

BENDING = 2.0


def frenet(radius: float, pitch: float, arc: Array) -> tuple[Array, Array]:
    """Points of a helix about z, and its tangent, normal and binormal as columns."""
    turn = arc * math.cos(pitch) / radius
    c, s = np.cos(turn), np.sin(turn)
    tangent = np.column_stack((-math.cos(pitch) * s, math.cos(pitch) * c, np.full_like(c, math.sin(pitch))))
    normal = np.column_stack((-c, -s, 0.0 * c))
    points = np.column_stack((radius * c, radius * s, arc * math.sin(pitch)))
    return points, np.stack((tangent, normal, np.cross(tangent, normal)), axis=2)


@pytest.mark.parametrize("pitch", [0.1, 0.6, 1.3])
@pytest.mark.parametrize("torque", [0.0, 0.7, -1.9])
def test_elements_along_the_helix_are_in_balance(pitch: float, torque: float) -> None:
    """The wrench on the axis, seen from the rod, is one stress along the whole helix; its nodes balance to rounding."""
    radius = 1.5
    arc = np.array([0.0, 0.1, 1.0, 1.7, 4.0])
    points, axes = frenet(radius, pitch, arc)
    force = torque * math.cos(pitch) / radius - BENDING * math.sin(pitch) * math.cos(pitch) ** 2 / radius**2
    couple = torque * math.sin(pitch) + BENDING * math.cos(pitch) ** 3 / radius
    up = np.array([0.0, 0.0, 1.0])
    local = []
    for point, axis in zip(points, axes, strict=True):
        moment = couple * up + np.cross(-point, force * up)
        local.append(np.concatenate((axis.T @ (force * up), axis.T @ moment)))
        # Love's rod: bending moment B times curvature about the binormal, torque H about the tangent
        np.testing.assert_allclose(
            local[-1][3:], [torque, 0.0, BENDING * math.cos(pitch) ** 2 / radius], atol=1e-14
        )
    np.testing.assert_allclose(local, np.tile(local[0], (arc.size, 1)), atol=1e-14)

    screws = np.zeros((arc.size - 1, 6))
    element_screws(points, axes, screws)
    stress = np.tile(local[0], (arc.size - 1, 1))
    residual, jacobians = np.zeros((arc.size, 6)), np.zeros((arc.size - 1, 2, 3, 3))
    assemble_wrenches(screws, stress, residual, jacobians)
    np.testing.assert_allclose(residual[1:-1], 0.0, atol=1e-13)
    np.testing.assert_allclose(residual[-1], local[0], atol=1e-13)
    np.testing.assert_allclose(residual[0], -local[0], atol=1e-13)
    ends = np.zeros((arc.size - 1, 2, 6))
    section_wrenches(screws, stress, ends)
    np.testing.assert_allclose(ends, np.tile(local[0], (arc.size - 1, 2, 1)), atol=1e-13)


@pytest.mark.parametrize("torsion", [0.75, 1.0, 1.3])
def test_a_straight_wire_wound_between_clamps_needs_the_wrench(torsion: float) -> None:
    """Wound to a helix of radius 1.5 without turning the section about it, so that the torque H is GJ sin(a) cos(a)/r.

    Force and couple of the end clamp on the wire against Love's, on the helix's axis; the wire's own length is 4."""
    radius, pitch, length, bending = 1.5, 0.6, 4.0, 1.0
    rates = (math.sin(pitch) * math.cos(pitch) / radius, 0.0, math.cos(pitch) ** 2 / radius)
    torque = torsion * rates[0]

    def end(share: float) -> Pose:
        twist, first, second = (share * rate for rate in rates)
        positions, axes = PassiveShape((Curved((twist, first, second), length),)).frames(length)
        return Pose(positions[0], axes[0])

    law = LinearSection(slender_stiffness(1000.0, length=length, torsion=torsion))
    held = [Held(Clamp(), 0.0, Pose.identity()), Held(Clamp(), length, end(1.0))]
    model = wire_between(PassiveShape((Straight(length),)), ANY_SECTION, law, held, length / 80.0)
    legs = [Leg("winding", (Pose.identity(), end(0.1 * share)), 1) for share in range(1, 11)]
    snapshot = engage(model, legs=legs).last.snapshot
    helix = PassiveShape((Curved(rates, length),)).frames(snapshot.arcs)[0]
    np.testing.assert_allclose(snapshot.positions, helix, rtol=0.0, atol=2e-5)

    force = torque * math.cos(pitch) / radius - bending * math.sin(pitch) * math.cos(pitch) ** 2 / radius**2
    couple = torque * math.sin(pitch) + bending * math.cos(pitch) ** 3 / radius
    # the helix's axis: along the rates' sum of twist and curvature, through the centre beside the clamp
    axis = np.array(rates) / np.linalg.norm(rates)
    centre = np.array([0.0, radius, 0.0])
    np.testing.assert_allclose(-snapshot.force[1], force * axis, rtol=0.0, atol=2e-3 * couple / radius)
    moment = -snapshot.moment[1] + np.cross(snapshot.support_position[1] - centre, -snapshot.force[1])
    np.testing.assert_allclose(moment, couple * axis, rtol=0.0, atol=2e-3 * couple)

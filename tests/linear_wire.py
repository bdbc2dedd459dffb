"""A wire between two attachments by small-deflection theory, as an outside check of whole cases.

Castigliano: a wrench at the wire's far end bends and twists every section on the way; what the sections give, added up,
is how that end moves against the near one.  Bending and torsion only.  In a slot of width W with the play c the wire of
a couple lies on two opposed edges: it is tilted by c/W and bends between them, so its turn at the mouth is

    turn = -sign(m) c/W - m W/(3EI),

m the moment of the slot on the wire there (beam on two supports; Gere & Timoshenko, Mechanics of Materials, table of
simple beams, from memory).  Where the wire touches one edge only, m = 0 and it stands c/2 aside.

Second order only for the slots; world axes, mm, N, N mm.  The wire's passive line is what ``geometry`` draws, which is
checked elsewhere; nothing of ``fem`` but the torsion constant is used.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.schema import AttachmentSpec, Case
from fem.torsion import torsion_constant
from geometry.wire_shapes import seat

Array = NDArray[np.float64]
PIECES = 4000


def bending(case: Case, order: str = "second") -> float:
    """EI (N mm^2) of the case's wire in an order."""
    section = case.wire.section
    moment = section.second_moment_z if order == "second" else section.second_moment_y
    return case.wire.material.youngs_modulus_mpa * moment


def torsion(case: Case) -> float:
    """GJ (N mm^2)."""
    material = case.wire.material
    return (
        material.youngs_modulus_mpa / (2.0 * (1.0 + material.poisson)) * torsion_constant(case.wire.section)
    )


def passive(case: Case, arcs: Array) -> tuple[Array, Array]:
    """Points (n, 3) and axes (n, 3, 3) of the passive wire, lying in its seat, in world axes."""
    home = next(spec.attachment for spec in case.attachments if spec.name == case.wire.seated_in)
    placed = seat(case.wire.passive_shape, home.at, home.pose)
    points, axes = case.wire.passive_shape.frames(arcs)
    return placed.position + points @ placed.axes.T, placed.axes @ axes


def flexibility(case: Case, start: float, end: float) -> Array:
    """(6, 6): displacement and turn of the section at arc ``end`` under force and moment there, ``start`` held."""
    edges = np.linspace(start, end, PIECES + 1)
    points, axes = passive(case, 0.5 * (edges[1:] + edges[:-1]))
    tip, _ = passive(case, np.array([end]))
    lever = tip[0] - points
    cross = np.zeros((PIECES, 3, 3))
    for (i, j), k, sign in zip([(2, 1), (0, 2), (1, 0)], range(3), (1.0, 1.0, 1.0), strict=True):
        cross[:, i, j], cross[:, j, i] = sign * lever[:, k], -sign * lever[:, k]
    # moment on a section: m + lever x f, seen in its own axes
    onto = np.concatenate((cross, np.tile(np.eye(3), (PIECES, 1, 1))), axis=2)
    own = np.swapaxes(axes, 1, 2) @ onto
    gives = (end - start) / PIECES / np.array([torsion(case), bending(case, "first"), bending(case)])
    total: Array = np.einsum("nki,k,nkj->ij", own, gives, own)
    return total


@dataclass(frozen=True, slots=True)
class Spoken:
    """What two attachments get, in the plane: force (2,) on each, and moment about each centre."""

    force: tuple[Array, Array]
    centre: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Way:
    """How the wire lies in an attachment."""

    kind: str
    """"clamp", "couple", or "near" and "far" where it touches at one mouth only, seen from the span between."""
    sign: float
    """Of the couple on the wire; of the side (up +) where the edge stands that it touches."""


def between(case: Case) -> Spoken:
    """Force and couples of the first two attachments, slots or clamps, in second order.

    All ways in which the wire can lie on its edges are tried; the one whose forces agree with its edges is the answer.
    """
    specs = (case.attachments[0], case.attachments[1])
    for ways in itertools.product(_ways(specs[0]), _ways(specs[1])):
        widths = [1.0 if spec.attachment.slot is None else spec.attachment.slot.width for spec in specs]
        found, moments = _try(case, specs, ways, widths)
        for _ in range(60):
            wanted = [_contact_width(case, spec, m) for spec, m in zip(specs, moments, strict=True)]
            if np.allclose(wanted, widths, rtol=1e-10):
                break
            widths = [0.5 * (one + other) for one, other in zip(wanted, widths, strict=True)]
            found, moments = _try(case, specs, ways, widths)
        if found is not None:
            return found
    raise AssertionError("no way of lying on the edges agrees with its own forces")


def _ways(spec: AttachmentSpec) -> list[Way]:
    """A clamp holds; a slot's couple has a sign, and so has the one edge that is touched."""
    if spec.attachment.slot is None:
        return [Way("clamp", 0.0)]
    return [Way(kind, sign) for kind in ("couple", "near", "far") for sign in (1.0, -1.0)]


def _play(case: Case, spec: AttachmentSpec) -> float:
    return 0.0 if spec.attachment.slot is None else spec.attachment.slot.height - case.wire.section.height


def _contact_width(case: Case, spec: AttachmentSpec, moment: float) -> float:
    """Between the opposed contacts: the slot's width, or less where the bent wire lies along a wall."""
    if spec.attachment.slot is None or moment == 0.0:
        return 1.0 if spec.attachment.slot is None else spec.attachment.slot.width
    return min(spec.attachment.slot.width, math.sqrt(6.0 * bending(case) * _play(case, spec) / abs(moment)))


def _try(
    case: Case, specs: tuple[AttachmentSpec, AttachmentSpec], ways: tuple[Way, Way], widths: list[float]
) -> tuple[Spoken | None, tuple[float, float]]:
    """Unknown: force (2) and moment at the far end of the span, and the turn of the wire at its near end."""
    held = [spec.attachment for spec in specs]
    toward = (1.0, -1.0)  # from a slot's centre to the span
    plays = [_play(case, spec) for spec in specs]
    half = [0.0 if one.slot is None else 0.5 * one.slot.width for one in held]
    # where along each slot the span ends, and where the wire passes there
    where = [side * (-h if way.kind == "far" else h) for side, h, way in zip(toward, half, ways, strict=True)]
    offsets = [
        0.5 * play * (-way.sign * side if way.kind == "couple" else way.sign)
        for play, side, way in zip(plays, toward, ways, strict=True)
    ]
    arcs = np.array([one.at + along for one, along in zip(held, where, strict=True)])
    ends, axes = passive(case, arcs)
    stiff = flexibility(case, arcs[0], arcs[1])[np.ix_([0, 1, 5], [0, 1, 5])]
    angles = [math.atan2(one[1, 0], one[0, 0]) for one in axes]
    slopes = [math.atan2(one.pose.axes[1, 0], one.pose.axes[0, 0]) for one in held]
    places = [
        one.pose.to_world(np.array([along, offset, 0.0]))
        for one, along, offset in zip(held, where, offsets, strict=True)
    ]
    wanted = (places[1] - places[0])[:2] - (ends[1] - ends[0])[:2]
    x, y = (ends[1] - ends[0])[:2]
    along = np.array([math.cos(slopes[1]), math.sin(slopes[1])])
    across = np.array([-along[1], along[0]])
    moved = np.concatenate((stiff[:2], [[-y], [x]]), axis=1)  # by force, moment, and turn at the near end
    rows, right = np.zeros((4, 4)), np.zeros(4)
    rows[0], right[0] = across @ moved, across @ wanted
    if held[0].stop and held[1].stop:
        rows[1], right[1] = along @ moved, along @ wanted
    else:
        rows[1, :2] = along
    near = np.array([-y, x, 1.0, 0.0])  # minus the moment of the near slot on the wire
    turns = (np.array([0.0, 0.0, 0.0, 1.0]), np.append(stiff[2], 1.0))
    moments = (-near, np.array([0.0, 0.0, 1.0, 0.0]))
    for k, way in enumerate(ways):
        if way.kind in ("near", "far"):
            rows[2 + k] = moments[k]
            continue
        spring = widths[k] / (3.0 * bending(case)) if way.kind == "couple" else 0.0
        tilt = -way.sign * plays[k] / widths[k] if way.kind == "couple" else 0.0
        rows[2 + k] = turns[k] + spring * moments[k]
        right[2 + k] = slopes[k] + tilt - angles[k]
    found = np.linalg.solve(rows, right)
    force = found[:2]
    on_wire = (-force, force)
    carried = (float(moments[0] @ found), float(moments[1] @ found))
    for k, way in enumerate(ways):
        tilt = angles[k] + float(turns[k] @ found) - slopes[k]
        up = np.array([-math.sin(slopes[k]), math.cos(slopes[k])])
        if way.kind == "couple" and carried[k] * way.sign < 0.0:
            return None, carried
        if way.kind in ("near", "far"):
            # an edge only pushes, one above pushes down; at the other mouth the wire passes between the edges
            beyond = offsets[k] - 2.0 * where[k] * tilt
            if (on_wire[k] @ up) * way.sign > 0.0 or abs(beyond) > 0.5 * plays[k]:
                return None, carried
    centre = []
    for k in (0, 1):
        arm = places[k] - held[k].pose.position
        centre.append(-carried[k] - float(arm[0] * on_wire[k][1] - arm[1] * on_wire[k][0]))
    return Spoken((force, -force), (centre[0], centre[1])), carried

"""What a scene consists of: surfaces and lines in world axes, each with what it stands for and how it looks.

The same parts are drawn into pictures and written into pages.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.results import AttachmentResult
from cases.show import brackets, labels, shapes
from cases.show.device import device_of
from cases.show.look import Look, Looked
from cases.show.marks import Mark
from cases.show.palette import (
    BLOCK,
    CROWN,
    CUT_FACE,
    EDGE_LINE,
    FORCE,
    INK,
    MOMENT,
    PASSIVE,
    PRESSING,
    ROOT,
    WALL,
)
from cases.show.prisms import HalfSpace, Prism, hatch, kept
from cases.show.teeth_placed import centre_of_resistance, placed_teeth

Array = NDArray[np.float64]

# Even steps for the eye, in grey and for the colour-blind too; more stress is darker, like ink on paper.
COLOURS: Final = "cividis_r"
CENTRE_RADIUS = 0.45
"""mm of the ball at a centre of resistance."""
PROUD = 0.004
"""mm that a mark stands out from the wall it lies in."""
FACE_LIFTED = 0.001
"""mm that a cut face stands out from its cut."""
LIFTED = 0.06
"""What section lines stand out from their face, in their own distances: more than half a pixel, so that they are seen
from the side too."""
TOOTH_OPACITY = 0.4
SEEN_THROUGH = 0.35
"""Opacity of what presses but has been cut away."""


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that is drawn."""

    what: str
    """"wire", "passive shape", "walls", "front", "edges", "cut face", "section lines", "pressing", "body", "tooth",
    "centre of resistance", "joint", "force" or "moment"."""
    mesh: pv.PolyData
    colour: str
    owner: str | None = None
    """The attachment it belongs to."""
    opacity: float = 1.0
    line: float | None = None
    """Width of its lines at scale 1, pixels; None for a surface."""
    smooth: bool = False
    values: str | None = None
    """The point array that colours it instead."""
    ambient: float = 0.4
    diffuse: float = 0.7


@dataclass(frozen=True, slots=True)
class Pressed:
    """A marked wall: where the wire presses on it, and what is drawn there."""

    owner: str
    zone: brackets.Zone
    middle: Array
    """(3,) mm, in world axes, on the wall."""
    share: float
    """Of the largest force of a zone in this scene."""


def scene_parts(looked: Looked, look: Look, marks: Sequence[Mark], shaft: float, apart: float) -> list[Part]:
    """All of a scene; ``shaft`` is the radius (mm) of its straight arrows, ``apart`` mm are between section lines."""
    out: list[Part] = []
    if look.teeth:
        out += tooth_parts(looked)
    out += _wires(looked, look.attachment is None and look.cut != "mesiodistal")
    out += _blunt_ends(looked)
    for item, cut in zip(looked.result.attachments, looked.cuts, strict=True):
        out += _attachment(item, looked, cut, apart)
    out += _pressing(looked)
    for mark in marks:
        name = mark.attachment.name
        if mark.arrow is not None:
            arrow = shapes.arrow(mark.start, mark.arrow, shaft)
            out.append(Part("force", arrow, FORCE, name, ambient=0.5, diffuse=0.6))
        if mark.arc is not None:
            arc = shapes.arc_arrow(mark.arc, 0.8 * shaft)
            out.append(Part("moment", arc, MOMENT, name, ambient=0.5, diffuse=0.6))
    return out


def _wires(looked: Looked, passive: bool) -> Iterator[Part]:
    """Every wire, its passive shape where that is shown, and where wires are joined."""
    stresses = labels.stresses_of(looked.wires)[1]
    for wire, stress in zip(looked.wires, stresses, strict=True):
        if passive:
            yield Part("passive shape", shapes.ghost(wire), PASSIVE, opacity=0.35, ambient=0.6, diffuse=0.5)
        surface = shapes.wire_surface(wire, values=stress)
        yield Part("wire", surface, INK, smooth=True, values=shapes.STRESS, ambient=0.45, diffuse=0.65)
    for joint in looked.result.joints:
        ball = shapes.joint_ball(np.array(joint.place_mm), looked.wires[0].section)
        yield Part("joint", ball, BLOCK, joint.name, opacity=0.8, smooth=True)


def pressed_walls(looked: Looked) -> tuple[Pressed, ...]:
    """Every place where the wire presses on a wall, but for what is negligible."""
    found = []
    for item in looked.result.attachments:
        slot = device_of(item).slot
        if slot is not None:
            found += [(item, zone) for zone in brackets.pressing_zones(item.contacts, slot)]
    most = max((zone.force_n for _, zone in found), default=0.0)
    out = []
    for item, zone in found:
        if zone.force_n > brackets.NEGLIGIBLE * most:
            depth = looked.result.wire_of(item).section.depth
            corners = brackets.zone_mark(zone, device_of(item), depth).corners
            middle = item.pose.to_world(0.5 * (corners.min(axis=0) + corners.max(axis=0)))
            out.append(Pressed(item.name, zone, middle, zone.force_n / most))
    return tuple(out)


def pressing_colour(share: float) -> str:
    """Of a wall that presses with this share of the largest force: the darker the harder."""
    pale, full = (np.array(pv.Color(c).float_rgb) for c in PRESSING)
    mixed = pale + share * (full - pale)
    return str(pv.Color(tuple(float(c) for c in mixed)).hex_rgb)


def tooth_parts(looked: Looked) -> Iterator[Part]:
    """Teeth and their centres of resistance."""
    section, attachments = looked.wires[0].section, looked.result.attachments
    for tooth in placed_teeth(attachments, max(section.height, section.depth)):
        mesh = shapes.tooth_surface(tooth, CROWN, ROOT)
        yield Part(
            "tooth",
            mesh,
            CROWN,
            tooth.owner,
            opacity=TOOTH_OPACITY,
            smooth=True,
            values=shapes.TONE,
            ambient=0.5,
            diffuse=0.55,
        )
    for item in attachments:
        centre = centre_of_resistance(item)
        if centre is not None:
            ball = pv.Sphere(radius=CENTRE_RADIUS, center=centre, theta_resolution=32, phi_resolution=32)
            yield Part("centre of resistance", ball, INK, item.name, smooth=True)


def _blunt_ends(looked: Looked) -> Iterator[Part]:
    """The outline of the wire's section where the cut goes through it."""
    for wire, whole in zip(looked.wires, looked.result.wires, strict=True):
        for end in (0, -1):
            if not np.array_equal(wire.positions_mm[end], whole.positions_mm[end]):
                outline = wire.section.outline(10)
                ring = wire.positions_mm[end] + outline @ wire.axes[end][:, 1:].T
                closed = pv.MultipleLines(points=np.concatenate((ring, ring[:1])))
                yield Part("edges", closed, EDGE_LINE, line=1.6)


def _attachment(
    item: AttachmentResult, looked: Looked, cut: HalfSpace | None, apart: float
) -> Iterator[Part]:
    section = looked.result.wire_of(item).section
    if item.slot_size_mm is not None:
        yield from _bracket(item, section.depth, cut, apart)
        return
    device = device_of(item)
    if item.kind == "button":
        post = shapes.button_post(item.pose, section)
        yield Part("body", post, BLOCK, item.name, opacity=0.8, smooth=True)
        return
    clamp = item.kind == "clamp"
    mesh = shapes.clamp_block(item.pose, section) if clamp else shapes.edge_body(device, item.pose, section)
    yield Part("body", mesh, BLOCK, item.name, opacity=0.8)
    yield _edges(mesh, item.name)


def _bracket(
    item: AttachmentResult, wire_depth: float, cut: HalfSpace | None, apart: float
) -> Iterator[Part]:
    solid = brackets.bracket_of(device_of(item), wire_depth)
    whole = cut is None
    for what, prisms, opacity in (("walls", solid.body, 0.5), ("front", solid.front, 0.14)):
        left, faces = _cut(prisms, cut)
        if left:
            mesh = shapes.prisms(item.pose, left)
            see_through = opacity if whole else 1.0 if what == "walls" else 0.6
            yield Part(what, mesh, WALL, item.name, opacity=see_through, ambient=0.55, diffuse=0.55)
            yield _edges(mesh, item.name)
        if faces:
            yield Part(
                "cut face", shapes.polygons(item.pose, faces), CUT_FACE, item.name, ambient=0.6, diffuse=0.4
            )
            out = np.zeros(3)
            if cut is not None:
                out[cut.axis] = LIFTED * apart * cut.side
            lines = [line + out for face in faces for line in hatch(face, apart)]
            if lines:
                yield Part("section lines", shapes.segments(item.pose, lines), EDGE_LINE, item.name, line=0.8)


def _cut(
    prisms: Iterable[Prism], half: HalfSpace | None, beyond: float = 0.0
) -> tuple[list[Prism], list[Array]]:
    """What a cut leaves of the solids, and ``beyond`` mm of the rest; their cut faces stand a hair in front."""
    if half is None:
        return list(prisms), []
    pairs = [kept(prism, replace(half, at=half.at + beyond * half.side)) for prism in prisms]
    lift = np.zeros(3)
    lift[half.axis] = FACE_LIFTED * half.side
    return [left for left, _ in pairs if left is not None], [
        face + lift for _, face in pairs if face is not None
    ]


def _pressing(looked: Looked) -> Iterator[Part]:
    """Marks on the walls that press; one that has been cut away is seen through."""
    items = {item.name: (item, cut) for item, cut in zip(looked.result.attachments, looked.cuts, strict=True)}
    for pressed in pressed_walls(looked):
        item, cut = items[pressed.owner]
        whole = brackets.zone_mark(pressed.zone, device_of(item), looked.result.wire_of(item).section.depth)
        left, _ = _cut([_grown(whole)], cut, 0.5 * PROUD)
        mesh = shapes.prisms(item.pose, left or [whole])
        opacity = 1.0 if left else SEEN_THROUGH
        yield Part(
            "pressing", mesh, pressing_colour(pressed.share), item.name, opacity, ambient=0.6, diffuse=0.45
        )


def _grown(prism: Prism) -> Prism:
    """A hair larger all round, so that its surface is seen on the wall it lies in."""
    middle = prism.profile.mean(axis=0)
    away = prism.profile - middle
    low, high = prism.along
    return Prism(prism.profile + PROUD * np.sign(away), (low - PROUD, high + PROUD))


def _edges(mesh: pv.PolyData, owner: str) -> Part:
    return Part("edges", shapes.feature_edges(mesh), EDGE_LINE, owner, line=1.2)


def stress_top(looked: Looked) -> float:
    """Upper end of the stress scale, MPa."""
    return max(looked.most_stress, 1.0)

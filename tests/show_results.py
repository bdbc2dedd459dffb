"""Invented results to draw pictures of: small beam curves in closed form, no solver.

The numbers are of a believable size and mean nothing; the tests look at what the pictures show of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cases.results import (
    BACK,
    ORDERS,
    OUT,
    AttachmentOnPath,
    AttachmentResult,
    BenchReading,
    BenchResult,
    EquilibriumResult,
    IncrementResult,
    OrderResult,
    RunResult,
    Vector,
    WireResult,
)
from geometry.pose import Pose
from geometry.section import Rectangle, Round, Section

Array = NDArray[np.float64]


def curve(x: Array, y: ArrayLike, roll: ArrayLike = 0.0, z: ArrayLike = 0.0) -> tuple[Array, Array, Array]:
    """Arc length (n,), positions (n, 3) and frames (n, 3, 3) of a wire through x, y, z that rolls (rad)."""
    points = np.column_stack((x, np.broadcast_to(y, x.shape), np.broadcast_to(z, x.shape)))
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    s = np.concatenate(([0.0], np.cumsum(steps)))
    t = np.gradient(points, s, axis=0)
    t /= np.linalg.norm(t, axis=1)[:, None]
    up = np.array([0.0, 1.0, 0.0]) - t * t[:, 1:2]
    up /= np.linalg.norm(up, axis=1)[:, None]
    out = np.cross(t, up)
    c, d = np.cos(np.broadcast_to(roll, x.shape))[:, None], np.sin(np.broadcast_to(roll, x.shape))[:, None]
    return s, points, np.stack((t, c * up + d * out, c * out - d * up), axis=2)


def wire(
    section: Section,
    x: Array,
    y: ArrayLike,
    passive_y: ArrayLike,
    stress: Array,
    roll: ArrayLike = 0.0,
    shear: ArrayLike = 0.0,
) -> WireResult:
    """A wire along x, raised by ``y`` mm, whose passive shape is raised by ``passive_y`` mm; stresses in MPa."""
    s, points, axes = curve(x, y, roll)
    zeros = np.zeros((len(s), 3))
    twisted = np.broadcast_to(np.asarray(shear, dtype=np.float64), s.shape)
    largest = float(np.sqrt(stress**2 + 3.0 * twisted**2).max())
    return WireResult(
        section=section,
        arc_length_mm=s,
        positions_mm=points,
        axes=axes,
        passive_positions_mm=curve(x, passive_y)[1],
        bending_stress_mpa=stress,
        shear_stress_mpa=twisted,
        force_n=zeros,
        moment_nmm=zeros,
        largest_stress_mpa=largest,
        yield_share=largest / 1200.0,
    )


def attachment(
    name: str,
    kind: str,
    pose: Pose,
    force: Vector = (0.0, 0.0, 0.0),
    moment: Vector = (0.0, 0.0, 0.0),
    slot: Vector | None = None,
    tooth: str | None = None,
) -> AttachmentResult:
    """One attachment with its force system; mouths and contacts are left empty."""
    own = pose.axes.T @ np.array(moment)
    return AttachmentResult(
        name=name,
        kind=kind,
        tooth=tooth,
        force_n=force,
        moment_nmm=moment,
        moment_about_mm=tuple(float(v) for v in pose.position),
        orders={order: _order(float(own[axis])) for order, axis in zip(ORDERS, (1, 2, 0), strict=True)},
        mouths=(),
        contacts=(),
        sliding_mm=0.0,
        moment_at_centre_of_resistance_nmm=None,
        words=(),
        pose=pose,
        slot_size_mm=slot,
    )


def _order(moment: float) -> OrderResult:
    words = "invented" if moment else "passive: no couple"
    return OrderResult(
        moment, 4.0, 1.5, 7.25, 5.75, False, moment != 0.0, ("upper wall", "lower wall"), words
    )


def increments(attachments: tuple[AttachmentResult, ...], count: int = 5) -> tuple[IncrementResult, ...]:
    """A path on which everything grows in proportion."""
    out = []
    for share in np.linspace(1.0 / count, 1.0, count):
        on_path = []
        for item in attachments:
            force, moment = share * np.array(item.force_n), share * np.array(item.moment_nmm)
            own = [share * item.orders[order].moment_nmm for order in ORDERS]
            on_path.append(
                AttachmentOnPath(item.name, tuple(map(float, force)), tuple(map(float, moment)), tuple(own))
            )
        out.append(IncrementResult("activation", float(share), 4, 0.0, 0.0, tuple(on_path)))
    return tuple(out)


def run(title: str, a_wire: WireResult, *attachments: AttachmentResult, status: str = "engaged") -> RunResult:
    """A whole result."""
    return RunResult(
        title=title,
        status=status,
        status_words=(),
        attachments=attachments,
        equilibrium=EquilibriumResult((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 1e-9),
        wire=a_wire,
        increments=increments(attachments),
        assumptions=(),
        provenance={},
    )


def cantilever(status: str = "engaged") -> RunResult:
    """A long cantilever on a molar: one couple, second order; tied to a hook."""
    x = np.linspace(-2.5, 22.0, 60)
    u = np.clip((x - 2.0) / 20.0, 0.0, 1.0)
    bent = -8.0 * u
    raised = 8.0 * (1.5 * u**2 - 0.5 * u**3) - 8.0 * u
    stress = np.where(x < 2.0, 0.0, 620.0 * (1.0 - u))
    return run(
        "Uprighting a tipped second molar with a long cantilever (invented)",
        wire(Rectangle(0.4318, 0.635, 0.05), x, raised + 0.0, bent, stress),
        attachment(
            "molar tube",
            "tube",
            Pose.identity(),
            (0.0, 0.412, 0.0),
            (0.0, 0.0, 9.06),
            (0.5588, 0.7112, 4.0),
            "47",
        ),
        attachment(
            "premolar hook", "button", Pose.from_angles((22.0, 0.0, 0.0)), (0.0, -0.412, 0.0), tooth="45"
        ),
        status=status,
    )


def v_bend() -> RunResult:
    """Two brackets near each other, each with a force and a couple."""
    x = np.linspace(-2.0, 9.0, 80)
    y = 0.18 * np.sin(np.pi * np.clip(x / 7.0, 0.0, 1.0)) ** 2
    passive = np.where(x < 3.0, 0.0, -np.tan(np.radians(15.0)) * (x - 3.0))
    stress = 950.0 * np.exp(-(((x - 3.0) / 2.0) ** 2))
    slot = (0.5588, 0.7112, 3.0)
    return run(
        "V-bend between a canine and a premolar, off centre (invented)",
        wire(Rectangle(0.4064, 0.5588, 0.05), x, y, passive, stress),
        attachment(
            "canine bracket", "bracket", Pose.identity(), (0.0, 1.84, 0.1), (0.9, 0.4, -14.2), slot, "13"
        ),
        attachment(
            "premolar bracket",
            "bracket",
            Pose.from_angles((7.0, 0.0, 0.0)),
            (0.0, -1.84, -0.1),
            (-0.7, 0.2, 1.35),
            slot,
            "14",
        ),
    )


def torque() -> RunResult:
    """An inclined bracket between two neighbours: third order."""
    x = np.linspace(-9.0, 9.0, 120)
    roll = np.radians(9.0) * np.clip(1.0 - np.abs(x) / 7.0, 0.0, 1.0)
    slot = (0.5588, 0.7112, 3.2)
    return run(
        "Labial crown torque on a central incisor through slot play (invented)",
        wire(
            Rectangle(0.4826, 0.635, 0.05),
            x,
            0.0,
            0.0 * x,
            np.zeros_like(x),
            roll,
            np.where(np.abs(x) < 7.5, 240.0 * np.minimum(1.0, np.abs(x)), 0.0),
        ),
        attachment(
            "lateral bracket",
            "bracket",
            Pose.from_angles((-7.5, 0.0, 0.0)),
            (0.0, 0.0, 0.0),
            (-6.1, 0.0, 0.0),
            slot,
            "12",
        ),
        attachment(
            "central bracket",
            "bracket",
            Pose.from_angles((0.0, 0.0, 0.0), 0, 0, np.radians(17.0)),
            (0.0, 0.0, 0.0),
            (12.2, 0.0, 0.0),
            slot,
            "11",
        ),
        attachment(
            "other central bracket",
            "bracket",
            Pose.from_angles((7.5, 0.0, 0.0)),
            (0.0, 0.0, 0.0),
            (-6.1, 0.0, 0.0),
            slot,
            "21",
        ),
    )


def clamped_step() -> RunResult:
    """A step bend between clamps."""
    x = np.linspace(0.0, 7.0, 50)
    u = x / 7.0
    return run(
        "Step bend of 0.35 mm in a round wire with built-in ends",
        wire(
            Round(0.4064),
            x,
            0.0 * x,
            0.35 / (1.0 + np.exp(-12.0 * (u - 0.5))),
            1800.0 * np.abs(1.0 - 2.0 * u),
        ),
        attachment("left clamp", "clamp", Pose.identity(), (0.0, 3.4, 0.0), (0.0, 0.0, 11.87)),
        attachment(
            "right clamp", "clamp", Pose.from_angles((7.0, 0.0, 0.0)), (0.0, -3.4, 0.0), (0.0, 0.0, 11.87)
        ),
    )


def passive() -> RunResult:
    """A round wire that floats in its play: nothing acts."""
    x = np.linspace(-3.0, 11.0, 40)
    slot = (0.5588, 0.7112, 3.0)
    return run(
        "A round wire passive in its play (invented)",
        wire(Round(0.4064), x, 0.0, 0.0, np.zeros_like(x)),
        attachment("left bracket", "bracket", Pose.identity(), slot=slot, tooth="11"),
        attachment("right bracket", "bracket", Pose.from_angles((8.0, 0.0, 0.0)), slot=slot, tooth="21"),
        status="passive",
    )


def row_of_brackets(count: int) -> RunResult:
    """Many brackets on a straight wire: what crowding does."""
    x = np.linspace(-3.0, 8.0 * count - 5.0, 20 * count)
    slot = (0.5588, 0.7112, 3.0)
    return run(
        f"{count} brackets in a row (invented)",
        wire(Rectangle(0.4826, 0.635, 0.05), x, 0.0, 0.0, 300.0 + 0.0 * x),
        *(
            attachment(
                f"bracket {k + 1}",
                "bracket",
                Pose.from_angles((8.0 * k, 0.0, 0.0)),
                (0.1 * (-1) ** k, 0.5 + 0.1 * k, -0.3),
                (2.0 + k, -3.0, 4.0 * (-1) ** k),
                slot,
            )
            for k in range(count)
        ),
    )


def bench_test() -> RunResult:
    """A bracket that is turned out and back, with a lag, and a measured curve; everything back at nothing."""
    result = replace(passive(), title="A bench test (invented)")
    out = tuple(
        BenchReading(
            OUT, 2.0 * k, (0.0, 0.0, 0.1), (-max(0.0, 3.0 * (k - 3)), 0.5, 0.0), max(0.0, 3.0 * (k - 3))
        )
        for k in range(1, 11)
    )
    back = tuple(
        BenchReading(
            BACK, 2.0 * k, (0.0, 0.0, 0.1), (-max(0.0, 3.0 * (k - 3.5)), 0.5, 0.0), max(0.0, 3.0 * (k - 3.5))
        )
        for k in range(9, -1, -1)
    )
    bench = BenchResult(
        "left bracket",
        "left bracket",
        True,
        "x",
        out + back,
        "measured.csv",
        (0.0, 10.0, 20.0),
        (0.0, 4.5, 20.0),
    )
    on_path = result.increments[-1].attachments
    tests = tuple(
        IncrementResult(one.stage, k / 10.0, 4, 0.0, 0.25, on_path)
        for part in (out, back)
        for k, one in enumerate(part, start=1)
    )
    return replace(result, bench=bench, increments=result.increments + tests)


def in_stages() -> RunResult:
    """A V-bend that goes back by half, and of which a bracket then moves."""
    result = v_bend()
    grown = result.increments
    back = tuple(
        replace(one, stage="back by half", activation=k / 5.0, attachments=like.attachments)
        for k, (one, like) in enumerate(zip(grown, reversed(grown), strict=True), start=1)
    )
    moved = tuple(replace(one, stage="the canine moves") for one in back)
    return replace(result, increments=grown + back + moved)


EVERY: dict[str, Callable[[], RunResult]] = {
    "cantilever": cantilever,
    "v_bend": v_bend,
    "torque": torque,
    "clamped_step": clamped_step,
    "passive": passive,
}

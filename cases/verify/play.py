"""Play: by the geometry, and as the solver finds it; measured plays."""

from __future__ import annotations

import math
from functools import cache, partial

from cases.formulas import critical_contact_angle_simplified_rad
from cases.verify import sources
from cases.verify.models import INCH, Held, along, engaged, law_of, straight, walls, wire
from cases.verify.rows import Check
from fem.material import LinearElastic
from fem.model import Clamp
from fem.path import Leg, engage
from geometry.attachments import Slot
from geometry.clearance import clearance, third_order_play
from geometry.pose import Pose
from geometry.section import Rectangle, Round

DEEP = 0.1
"""in: a slot so deep that its height alone counts."""


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (*_nominal(), *_left(), *_critical(), *_solved(), *_measured())


def torque_play(
    slot: float, height: float, depth: float, edge: float = 0.0, slot_depth: float = DEEP
) -> float:
    """Third-order play (deg) in a closed slot; sizes in inches."""
    section = Rectangle(height * INCH, depth * INCH, edge * INCH)
    play = clearance(section, Slot(slot * INCH, slot_depth * INCH, 3.0)).third.angle
    return math.inf if play is None else math.degrees(play)


def _nominal() -> tuple[Check, ...]:
    published = [
        Check(
            f"third-order play of {height} x {depth} in in 0.022 in",
            "benchmark",
            sources.PAPAGEORGIOU,
            expected,
            0.01,
            "deg",
            partial(torque_play, 0.022, height, depth),
            relative=False,
        )
        for height, depth, expected in ((0.019, 0.019, 9.96), (0.019, 0.022, 8.37), (0.019, 0.025, 7.24))
    ]
    rows = (
        ("0.019 x 0.025 in, edge radius 0.002 in, in 0.022 in", (0.022, 0.019, 0.025, 0.002), 8.69),
        ("0.016 x 0.022 in, edge radius 0.002 in, in 0.018 in", (0.018, 0.016, 0.022, 0.002), 6.64),
        (
            "0.017 x 0.025 in in 0.022 x 0.028 in: the depth stops it",
            (0.022, 0.017, 0.025, 0.0, 0.028),
            12.06,
        ),
    )
    solved = [
        Check(
            f"third-order play of {words}",
            "benchmark",
            sources.SLOT_EQUATION,
            expected,
            0.01,
            "deg",
            partial(torque_play, *sizes),
            relative=False,
        )
        for words, sizes, expected in rows
    ]
    return (*published, *solved)


def play_left(tilt: float) -> float:
    """Third-order play (deg) of 0.019 x 0.025 in in 0.022 in, 0.130 in wide, tilted by ``tilt`` (deg)."""
    section, slot = Rectangle(0.019 * INCH, 0.025 * INCH), Slot(0.022 * INCH, DEEP * INCH, 0.130 * INCH)
    angle = third_order_play(section, slot, math.radians(tilt)).angle
    return math.inf if angle is None else math.degrees(angle)


def _left() -> tuple[Check, ...]:
    return (
        Check(
            "third-order play left of 7.24 deg when 0.019 x 0.025 in is tilted by 1 deg",
            "benchmark",
            sources.SLOT_EQUATION,
            1.69,
            0.01,
            "deg",
            partial(play_left, 1.0),
            relative=False,
        ),
    )


def critical_angle(size: float, slot: float, width: float) -> float:
    """Second-order play (deg) of a round wire; sizes in inches."""
    angle = clearance(Round(size * INCH), Slot(slot * INCH, slot * INCH, width * INCH)).second.angle
    return math.inf if angle is None else math.degrees(angle)


def _critical() -> tuple[Check, ...]:
    out = []
    for size, slot, width in ((0.016, 0.018, 0.1008), (0.016, 0.022, 0.1037), (0.018, 0.022, 0.1037)):
        simplified = critical_contact_angle_simplified_rad(size, slot, width)
        out.append(
            Check(
                f"critical contact angle of {size} in in {slot} in, {width} in wide",
                "closed form",
                sources.KUSY,
                math.degrees(simplified),
                0.01,
                "deg",
                partial(critical_angle, size, slot, width),
            )
        )
    return tuple(out)


TURNING = LinearElastic("steel", 180e3, 0.3)


@cache
def torques(section: Rectangle, slot: Slot, span: float, angles: tuple[float, ...]) -> tuple[float, ...]:
    """Torque (N mm) between two slots ``span`` mm apart at each of ``angles`` (deg), by the solver."""
    distance = span + slot.width
    held = [
        Held(walls(slot, 9, stop=True), 1.0 + 0.5 * slot.width, Pose.identity()),
        Held(walls(slot, 9), 1.0 + 0.5 * slot.width + distance, along(distance)),
    ]
    model = wire(straight(distance + slot.width + 2.0), section, law_of(section, TURNING), held)
    first = model.supports[0].end
    legs = [Leg(f"{a:g} deg", (first, along(distance, about_x=math.radians(a))), 4) for a in angles]
    path = engage(model, legs=legs)
    return tuple(-float(path.end_of(k).snapshot.moment[1, 0]) for k in range(len(angles)))


def play_by_torque() -> float:
    """Play (deg) of 0.019 x 0.025 in in either of two slots of 0.022 in: where the line of torque meets zero."""
    section, slot = Rectangle(0.019 * INCH, 0.025 * INCH), Slot(0.022 * INCH, DEEP * INCH, 3.0)
    low, high = 18.0, 24.0
    at_low, at_high = torques(section, slot, 5.0, (low, high))
    return 0.5 * (low - at_low * (high - low) / (at_high - at_low))


@cache
def tilted(angle: float) -> float:
    """Sum of normal forces (N) of a straight wire in a bracket tipped by ``angle`` (deg)."""
    section, slot = Rectangle(0.016 * INCH, 0.022 * INCH), Slot(0.022 * INCH, 0.028 * INCH, 0.1037 * INCH)
    held = [
        Held(Clamp(), 0.0, Pose.identity()),
        Held(walls(slot, None), 10.0, along(10.0, about_z=math.radians(angle))),
        Held(Clamp(slides=True), 20.0, along(20.0)),
    ]
    model = wire(straight(22.0), section, law_of(section), held)
    return float(engaged(model, 5).last.snapshot.walls.normal.sum())


def critical_by_force() -> float:
    """Critical contact angle (deg) as the solver finds it: where the normal forces begin."""
    low, high = 3.4, 3.6
    at_low, at_high = tilted(low), tilted(high)
    return low - at_low * (high - low) / (at_high - at_low)


def _solved() -> tuple[Check, ...]:
    return (
        Check(
            "third-order play of 0.019 x 0.025 in in 0.022 in, where the solver's torque begins",
            "benchmark",
            sources.PAPAGEORGIOU,
            7.24,
            0.01,
            "deg",
            play_by_torque,
            relative=False,
        ),
        Check(
            "critical contact angle of 0.016 in in 0.022 in, where the solver's normal forces begin",
            "closed form",
            sources.KUSY,
            math.degrees(critical_contact_angle_simplified_rad(0.016, 0.022, 0.1037)),
            0.01,
            "deg",
            critical_by_force,
        ),
    )


MEAN_SLOT, EDGE = 0.476, 0.002
"""mm: ten slots of 0.018 in, measured by the same authors in 1998; in: edges (common practice, no source)."""


def total_play() -> float:
    """Total play (deg) of 0.016 x 0.022 in in a slot of mean measured height."""
    return 2.0 * torque_play(MEAN_SLOT / INCH, 0.016, 0.022, EDGE)


def twist_at_20() -> float:
    """Twist (deg) at 20 N mm between two such slots 4 mm apart, by the solver."""
    section = Rectangle(0.016 * INCH, 0.022 * INCH, EDGE * INCH)
    low, high = 24.0, 30.0
    at_low, at_high = torques(section, Slot(MEAN_SLOT, DEEP * INCH, 3.0), 4.0, (low, high))
    return low + (20.0 - at_low) * (high - low) / (at_high - at_low)


LEAST_SLOT, LARGEST_SLOT = 0.563, 0.613
"""mm: nine slots of 0.022 in, measured by Brauchli et al., Angle Orthod. 82 (2012) 663."""


def real_play(height: float, depth: float, slot: float = 0.5 * (LEAST_SLOT + LARGEST_SLOT)) -> float:
    """Third-order play (deg) of a wire with usual edges in a slot of 0.022 in as it is made (mm)."""
    return torque_play(slot / INCH, height, depth, EDGE)


def _measured() -> tuple[Check, ...]:
    reviewed = [
        Check(
            f"engagement angle of {height} x {depth} in in slots of 0.022 in of mean measured height, edges 0.002 in",
            "measurement",
            sources.ARCHAMBAULT,
            angle,
            # what the heights of measured slots leave open
            0.5 * (real_play(height, depth, LARGEST_SLOT) - real_play(height, depth, LEAST_SLOT)),
            "deg",
            partial(real_play, height, depth),
            relative=False,
        )
        for height, depth, angle in ((0.018, 0.025, 18.0), (0.019, 0.025, 14.0), (0.021, 0.025, 6.0))
    ]
    return (
        *reviewed,
        Check(
            "total play of 0.016 x 0.022 in in a slot of mean measured height (measured 16.6 to 20.4)",
            "measurement",
            sources.MELING,
            18.5,
            1.9,
            "deg",
            total_play,
            relative=False,
        ),
        Check(
            "twist of it at 20 N mm between two such slots 4 mm apart (measured 24.6 to 29.2; set-up as we read it)",
            "measurement",
            sources.MELING,
            26.9,
            2.3,
            "deg",
            twist_at_20,
            relative=False,
        ),
    )

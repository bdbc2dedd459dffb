"""What a bench rig's sensor reads: the load on one attachment, about a point and along axes that stay with the rig."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cases.results import BACK, OUT, BenchReading, BenchResult, Vector
from cases.schema import BenchSpec, Case
from fem.path import Leg, Path
from geometry.pose import Pose

AXES = "xyz"


def bench_result(case: Case, legs: Sequence[Leg], path: Path) -> BenchResult | None:
    """The readings of a case's bench test, or None where it has none.

    A sensor is mounted behind its attachment: where that is turned, point and axes of the sensor turn along, as
    commanded.  The load of the test counts as on a rig's display, above zero where it resists a travel above zero:
    what the rig exerts on the attachment it moves, or what the wire passes on to one that stands.
    """
    bench = case.bench
    if bench is None:
        return None
    k = [spec.name for spec in case.attachments].index(bench.sensor)
    whole, axis, turns = _test(bench)
    sense = -1.0 if bench.sensor == bench.moved else 1.0
    readings = []
    for increment in path.increments:
        stage = legs[increment.leg].name
        if stage not in (OUT, BACK):
            continue
        gone = increment.activation if stage == OUT else 1.0 - increment.activation
        snapshot = increment.snapshot
        mount = _mount(case, legs, k, gone, bench)
        point = mount.to_world(np.array(bench.sensor_from_centre))
        force = mount.axes.T @ snapshot.force[k]
        moment = mount.axes.T @ (
            snapshot.moment[k] + np.cross(snapshot.acting_point[k] - point, snapshot.force[k])
        )
        load = sense * float(moment[axis] if turns else force[axis]) + 0.0  # no minus zero
        readings.append(BenchReading(stage, gone * whole, _vector(force), _vector(moment), load))
    measured = bench.measured
    return BenchResult(
        bench.moved,
        bench.sensor,
        turns,
        AXES[axis],
        tuple(readings),
        None if measured is None else measured.file,
        () if measured is None else measured.travel,
        () if measured is None else measured.load,
    )


def _test(bench: BenchSpec) -> tuple[float, int, bool]:
    """The whole travel (deg or mm), the axis it is along or about, and whether it turns."""
    turns = any(bench.turn)
    about_y, about_z, about_x = bench.turn
    values = (about_x, about_y, about_z) if turns else bench.by
    axis = int(np.argmax(np.abs(values)))
    return (math.degrees(values[axis]) if turns else values[axis]), axis, turns


def _mount(case: Case, legs: Sequence[Leg], k: int, gone: float, bench: BenchSpec) -> Pose:
    """Where the sensor's attachment is mounted: as commanded, without what rig or wire give way."""
    out = next(number for number, one in enumerate(legs) if one.name == OUT)
    before = legs[out + 1].ends[k]
    if case.attachments[k].name != bench.moved:
        return before
    return before.compose(
        Pose.from_angles(gone * np.array(bench.by), *(gone * angle for angle in bench.turn))
    )


def _vector(values: np.ndarray) -> Vector:
    return (float(values[0]), float(values[1]), float(values[2]))

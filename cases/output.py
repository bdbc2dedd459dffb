"""Results as files: result.json, path.csv, wire.csv, and whatever else a run adds; whole or not at all.

JSON keys and column names carry their unit as a suffix.  Files keep all digits.  A result with NaN or
infinity in it is never written.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np

from cases.errors import NotFiniteError
from cases.files import Writer, left_by_others, write_whole
from cases.memory_results import WireMemory
from cases.result_tables import Cell, bench_table, path_table, travel_and_load, wire_table
from cases.results import (
    ORDERS,
    AccuracyResult,
    AttachmentResult,
    BenchResult,
    DeactivationResult,
    Error,
    IncrementResult,
    Mesh,
    RunResult,
)
from cases.shape_file import shape_text
from cases.show.names import is_picture
from cases.system_json import system_json
from cases.tooth_json import tooth_json
from cases.vtu import write_wire_vtu
from cases.wire_json import joint_json, shared_tooth_json, wire_json

CAUTION = (
    "Computed for study and teaching; not a treatment plan. Confirm on a bench, and leave the decision to a "
    "licensed practitioner under local rules."
)
CONVENTIONS = (
    "Forces and moments act on the tooth, in world axes: x to the viewer's right in a facial view, y up, "
    "z towards the viewer (facial).",
    "moment_nmm of an attachment is taken about moment_about_mm (slot centre, clamp centre, or the held "
    "point of the wire), that of a mouth about the wire's centre at that mouth.",
    "orders: moments about the attachment's own axes, first order about its height (y), second about its "
    "depth (z), third about its length (x).",
    "A mouth's force and moment are what the span outside exerts on the wire inside.",
    "play_deg is one-sided from centred; null where the wire turns freely or nothing limits it.",
    "Moments of the equilibrium are taken about the world's origin.",
    "Readings of a bench test are in the sensor's own axes, force and moment as on its attachment; the load is above "
    "zero where it resists a travel above zero.",
    "at_centre_of_resistance: vectors in the attachment's own axes, which are taken for the tooth's; "
    "moment_to_force_mm is taken about the point of the long axis level with the slot and is above zero where the "
    "moment works against the tipping by the force; share_of_arm is the same over arm_mm, 1 is translation. Movements "
    "are initial tendencies in a linear model, not predictions.",
    "centre_of_rotation: from the centre of resistance, within the plane of each order; null for a translation.",
    "accuracy: an estimate of how far forces and moments may be off because wire and slots are divided; lengths "
    "of vectors, and percent of the largest.",
    "system.geometries: angles of the wire from the slots, moments on the teeth; ratios: bracket with the smaller "
    "angle of activation over the other; classes are the nearest of six.",
    "The share in activation is that of the increment's own stage.",
    "joints: force on the wire called `to`; the other one gets the opposite.",
)
FRAMES = "frames.json.gz"  # of cases.frames
RELEASED = "released.toml"
RELEASED_REMARKS = (
    "The shape of the wire after release, free of load: its set is in it, its stresses and its hardening are not.",
    'Run it again as a new wire: passive_shape = [ { shape = "released.toml" } ]',
)
NUMBERS = ("result.json", "path.csv", "wire.csv", "wire.vtu", "bench.csv", RELEASED)
REPORT = "report.html"  # of cases.report, stale as soon as the case is run anew
_SOLID = re.compile(r"solids\.pvd|(wire_solid|attachments)(_\d+\.vtu|\.msh)")


def to_json(result: RunResult) -> dict[str, Any]:
    """The result as plain JSON values.  Raises NotFiniteError naming the first field with NaN or infinity."""
    data = {
        "title": result.title,
        "status": result.status,
        "status_words": list(result.status_words),
        "attachments": [attachment_json(item) for item in result.attachments],
        "equilibrium": {
            "force_n": result.equilibrium.force_n,
            "moment_nmm": result.equilibrium.moment_nmm,
            "floor_n": result.equilibrium.floor_n,
        },
        "wire": {
            **wire_json(result.wire),
            "deepest_between_stations_mm": result.deepest_between_stations_mm,
        },
        "more_wires": [wire_json(wire) for wire in result.more_wires],
        "joints": [joint_json(joint) for joint in result.joints],
        "teeth": [shared_tooth_json(tooth) for tooth in result.teeth],
        "increments": [_increment(item) for item in result.increments],
        "system": None if result.system is None else system_json(result.system),
        "deactivations": [_deactivation(item) for item in result.deactivations],
        "bench": None if result.bench is None else _bench(result.bench),
        "accuracy": None if result.accuracy is None else _accuracy(result.accuracy),
        "modulus_spread": None if result.modulus_spread is None else asdict(result.modulus_spread),
        "memory": None if result.memory is None else _memory(result.memory),
        "assumptions": list(result.assumptions),
        "conventions": list(CONVENTIONS),
        "caution": CAUTION,
        "provenance": result.provenance,
    }
    plain = json_value(data, "")
    assert isinstance(plain, dict)
    return plain


def attachment_json(item: AttachmentResult) -> dict[str, Any]:
    """One attachment with all that is said of it; its values are not yet JSON's own types (``plain``)."""
    slot = item.slot_size_mm
    return {
        "name": item.name,
        "kind": item.kind,
        "tooth": item.tooth,
        "wire": item.wire,
        "force_n": item.force_n,
        "moment_nmm": item.moment_nmm,
        "moment_about_mm": item.moment_about_mm,
        "moment_at_centre_of_resistance_nmm": item.moment_at_centre_of_resistance_nmm,
        "at_centre_of_resistance": (
            None if item.at_centre_of_resistance is None else tooth_json(item.at_centre_of_resistance)
        ),
        "words": item.words,
        "orders": {
            name: {
                "moment_nmm": order.moment_nmm,
                "activation_deg": order.activation_deg,
                "engagement_deg": order.engagement_deg,
                "play_deg": order.play_deg,
                "play_left_deg": order.play_left_deg,
                "turns_freely": order.turns_freely,
                "carries_couple": order.carries_couple,
                "stopping_walls": order.stopping_walls,
                "words": order.words,
            }
            for name, order in ((name, item.orders[name]) for name in ORDERS)
        },
        "mouths": [
            {
                "place": m.place,
                "arc_length_mm": m.arc_length_mm,
                "force_n": m.force_n,
                "moment_nmm": m.moment_nmm,
            }
            for m in item.mouths
        ],
        "contacts": [
            {
                "place_mm": contact.place_mm,
                "offset_mm": contact.offset_mm,
                "wall": contact.wall,
                "normal_force_n": contact.normal_force_n,
                "friction_force_n": contact.friction_force_n,
                "give_mm": contact.give_mm,
            }
            for contact in item.contacts
        ],
        "sliding_mm": item.sliding_mm,
        "inside_share": item.inside_share,
        "pose": {"position_mm": item.pose.position, "axes": item.pose.axes},
        "slot_mm": None if slot is None else {"height": slot[0], "depth": slot[1], "width": slot[2]},
    }


def _accuracy(item: AccuracyResult) -> dict[str, Any]:
    return {
        "estimated": item.percent is not None,
        "words": item.words,
        **_estimate(item),
        "wanted_percent": item.wanted_percent,
        "reached": item.reached,
        "sequence": [_estimate(one) for one in item.sequence],
    }


def _estimate(item: AccuracyResult) -> dict[str, Any]:
    return {
        "mesh": _mesh(item.mesh),
        "compared_with": _mesh(item.compared_with),
        "force": None if item.force is None else _error(item.force, "n"),
        "moment": None if item.moment is None else _error(item.moment, "nmm"),
    }


def _mesh(mesh: Mesh) -> dict[str, int]:
    return {"elements": mesh.elements, "stations": mesh.stations}


def _error(error: Error, unit: str) -> dict[str, Any]:
    return {
        f"error_{unit}": error.change,
        f"largest_{unit}": error.largest,
        "error_percent": error.percent,
        "attachment": error.attachment,
    }


def _bench(bench: BenchResult) -> dict[str, Any]:
    travel, load = travel_and_load(bench)
    return {
        "moved": bench.moved,
        "sensor": bench.sensor,
        "axis": bench.axis,
        "readings": [
            {
                "stage": one.stage,
                travel: one.travel,
                "force_n": one.force_n,
                "moment_nmm": one.moment_nmm,
                load: one.load,
            }
            for one in bench.readings
        ],
        "measured_file": bench.measured_file,
    }


def _deactivation(item: DeactivationResult) -> dict[str, Any]:
    way, load = ("deg", "nmm") if item.turns else ("mm", "n")
    return {
        "stage": item.stage,
        "attachment": item.attachment,
        "readings": [
            {
                "travel_mm": one.travel_mm,
                "turned_deg": one.turned_deg,
                "force_n": one.force_n,
                "moment_nmm": one.moment_nmm,
            }
            for one in item.readings
        ],
        f"half_at_{way}": item.half_at,
        f"until_{load}": item.until,
        f"working_range_{way}": item.working_range,
    }


def _increment(item: IncrementResult) -> dict[str, Any]:
    return {
        "stage": item.stage,
        "activation": item.activation,
        "lost_nmm": item.lost_nmm,
        "let_down": item.let_down,
        "set_free_nmm": item.set_free_nmm,
        "dissipated_nmm": item.dissipated_nmm,
        "left": item.left,
        "iterations": item.iterations,
        "residual_n": item.residual_n,
        "attachments": [
            {
                "name": one.name,
                "force_n": one.force_n,
                "moment_nmm": one.moment_nmm,
                "orders_moment_nmm": dict(zip(ORDERS, one.orders_moment_nmm, strict=True)),
                "own_force_n": one.own_force_n,
            }
            for one in item.attachments
        ],
    }


def _memory(item: WireMemory) -> dict[str, Any]:
    # the shape has a file of its own
    return asdict(replace(item, released=None)) | {"released": RELEASED if item.released else None}


def json_value(value: Any, field: str) -> Any:
    """``value`` in JSON's own types; ``field`` names it in an error.  Raises NotFiniteError for NaN or infinity."""
    if value is None or isinstance(value, (bool, str)):
        return value
    if isinstance(value, np.generic):
        return json_value(value.item(), field)
    if isinstance(value, int):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise NotFiniteError(field, value)
        return value
    if isinstance(value, Mapping):
        return {
            str(key): json_value(item, f"{field}.{key}" if field else str(key)) for key, item in value.items()
        }
    if isinstance(value, (Sequence, np.ndarray)):
        return [json_value(item, f"{field}[{i}]") for i, item in enumerate(value)]
    raise TypeError(f"{field}: a {type(value).__name__} has no place in JSON")


def _csv_text(name: str, columns: list[str], rows: list[list[Cell]]) -> str:
    for number, row in enumerate(rows, start=1):
        for column, value in zip(columns, row, strict=True):
            if not isinstance(value, str) and not math.isfinite(value):
                raise NotFiniteError(f'{name}, row {number}, "{column}"', value)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(
        [value if isinstance(value, (int, str)) else repr(float(value)) for value in row] for row in rows
    )
    return text.getvalue()


def write_outputs(
    result: RunResult, folder: Path, more: Mapping[str, Writer] | None = None
) -> tuple[Path, ...]:
    """Write the result's files into ``folder`` (made where missing), all of them or none; gives their paths.

    ``more`` maps further file names to functions that write them at the path they get.  Files of an earlier
    run that this one does not make are removed, other files are left alone.  Raises NotFiniteError,
    OutputError, or what a writer raises.
    """
    texts = {
        "result.json": json.dumps(to_json(result), indent=2, allow_nan=False, ensure_ascii=False) + "\n",
        "path.csv": _csv_text("path.csv", *path_table(result)),
        "wire.csv": _csv_text("wire.csv", *wire_table(result.wires)),
    }
    if result.bench is not None:
        texts["bench.csv"] = _csv_text("bench.csv", *bench_table(result.bench))
    released = None if result.memory is None else result.memory.released
    if released is not None:
        texts[RELEASED] = shape_text(released, RELEASED_REMARKS)
    writers: dict[str, Writer] = {name: _text_writer(text) for name, text in texts.items()}
    writers["wire.vtu"] = lambda path: write_wire_vtu(result.wires, path)
    writers.update(more or {})
    return write_whole(folder, writers, remove=left_by_others(folder, writers, _own))


def is_solid(name: str) -> bool:
    """Whether a run may have left a file of this name as part of its solids."""
    return _SOLID.fullmatch(name) is not None


def _own(name: str) -> bool:
    return name in (*NUMBERS, FRAMES, REPORT) or is_solid(name) or is_picture(name)


def _text_writer(text: str) -> Writer:
    def write(path: Path) -> None:
        path.write_text(text, encoding="utf-8")

    return write

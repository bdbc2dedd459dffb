"""Wires, their joints and the teeth that they share, as plain JSON values; keys carry their unit."""

from __future__ import annotations

from typing import Any

from cases.results import JointResult, SharedTooth, WireResult
from cases.tooth_json import tooth_json


def wire_json(wire: WireResult) -> dict[str, Any]:
    """One wire of result.json, but for its nodes."""
    return {
        "name": wire.name,
        "section": wire.section.label,
        "strands": wire.strands,
        "length_mm": float(wire.arc_length_mm[-1] - wire.arc_length_mm[0]),
        "largest_stress_mpa": wire.largest_stress_mpa,
        "yield_share": wire.yield_share,
    }


def joint_json(joint: JointResult) -> dict[str, Any]:
    """One of ``joints`` of result.json."""
    return {
        "name": joint.name,
        "kind": joint.kind,
        "wire": joint.wire,
        "at_mm": joint.at_mm,
        "to": joint.to,
        "to_at_mm": joint.to_at_mm,
        "place_mm": joint.place_mm,
        "force_n": joint.force_n,
        "words": joint.words,
    }


def shared_tooth_json(one: SharedTooth) -> dict[str, Any]:
    """One of ``teeth`` of result.json."""
    return {
        "tooth": one.tooth,
        "attachments": one.attachments,
        "force_n": one.force_n,
        "moment_at_centre_of_resistance_nmm": one.moment_at_centre_of_resistance_nmm,
        "at_centre_of_resistance": tooth_json(one.at_centre_of_resistance),
    }

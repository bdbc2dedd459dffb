"""What a run says of a tooth, as plain JSON values; keys carry their unit."""

from __future__ import annotations

from typing import Any

from cases.tooth_results import ToothDisplacement, ToothResult


def tooth_json(item: ToothResult) -> dict[str, Any]:
    """A tooth's part of result.json."""
    return {
        "from_slot_mm": item.centre_from_slot_mm,
        "source": item.source,
        "force_n": item.force_n,
        "moment_nmm": item.moment_nmm,
        "planes": {
            order: {
                "force_n": plane.force_n,
                "moment_nmm": plane.moment_nmm,
                "arm_mm": plane.arm_mm,
                "moment_to_force_mm": plane.moment_to_force_mm,
                "share_of_arm": plane.share_of_arm,
                "movement": plane.movement,
                "words": plane.words,
            }
            for order, plane in item.planes.items()
        },
        "words": item.words,
        "published_ranges": [
            {
                "movement": one.movement,
                f"least_{'nmm' if one.of_moment else 'n'}": one.least,
                f"most_{'nmm' if one.of_moment else 'n'}": one.most,
                "source": one.source,
            }
            for one in item.published
        ],
        "support": item.support,
        "displacement": None if item.displacement is None else _displacement(item.displacement),
    }


def _displacement(item: ToothDisplacement) -> dict[str, Any]:
    return {
        "translation_mm": item.translation_mm,
        "rotation_deg": item.rotation_deg,
        "slot_translation_mm": item.slot_translation_mm,
        "centre_of_rotation_mm": item.centre_of_rotation_mm,
        "words": item.words,
    }

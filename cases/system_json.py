"""What a run says of its attachments together, as plain JSON values; keys carry their unit."""

from __future__ import annotations

from typing import Any

from cases.system_results import BracketAngles, FollowStep, Geometry, OrderSystem, SystemResult


def system_json(item: SystemResult) -> dict[str, Any]:
    """The ``system`` of result.json."""
    return {
        "orders": {order: _order(one) for order, one in item.orders.items()},
        "passive": item.passive,
        "geometries": [_geometry(one) for one in item.geometries],
        "following": [_step(one) for one in item.following],
        "words": item.words,
        "more_wires": [{order: _order(one) for order, one in orders.items()} for orders in item.more_wires],
    }


def _order(one: OrderSystem) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "with_couple": one.with_couple,
        "holding_a_point": one.holding,
        "within_play": [{"name": slot.name, "play_left_deg": slot.play_left_deg} for slot in one.within_play],
        "loads": one.loads,
        "left_open": one.left_open,
        "determinate": one.determinate,
        "words": one.words,
    }


def _geometry(one: Geometry) -> dict[str, Any]:
    return {
        "stage": one.stage,
        "order": one.order,
        "brackets": [_bracket(bracket) for bracket in one.brackets],
        "larger_angle_at": one.larger,
        "angle_ratio": one.angle_ratio,
        "nearest_class": one.nearest_class,
        "moment_ratio_at_mouths": one.moment_ratio_at_mouths,
        "linear_moment_ratio": one.linear_moment_ratio,
        "angle_ratio_at_centres": one.angle_ratio_at_centres,
        "nearest_class_at_centres": one.nearest_class_at_centres,
        "moment_ratio_at_centres": one.moment_ratio_at_centres,
        "words": one.words,
    }


def _bracket(one: BracketAngles) -> dict[str, Any]:
    return {
        "name": one.name,
        "activation_deg": one.activation_deg,
        "activation_at_centre_deg": one.activation_at_centre_deg,
        "engagement_deg": one.engagement_deg,
        "play_deg": one.play_deg,
        "moment_at_mouth_nmm": one.moment_at_mouth_nmm,
        "moment_at_centre_nmm": one.moment_at_centre_nmm,
    }


def _step(one: FollowStep) -> dict[str, Any]:
    return {
        "stage": one.stage,
        "step": one.step,
        "attachments": [
            {
                "name": item.name,
                "position_mm": item.pose.position,
                "axes": item.pose.axes,
                "moved_mm": item.moved_mm,
                "turned_deg": item.turned_deg,
                "force_n": item.force_n,
                "moment_nmm": item.moment_nmm,
            }
            for item in one.attachments
        ],
    }

"""The attachments as one system, and the estimated error, read back from result.json."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from cases.results import ORDERS, AccuracyResult, Error, Mesh
from cases.system_results import (
    BracketAngles,
    Followed,
    FollowStep,
    Geometry,
    InPlay,
    OrderSystem,
    SystemResult,
    Vector,
)
from geometry.pose import Pose

Json = Mapping[str, Any]


def read_system(item: Json) -> SystemResult:
    """The ``system`` of result.json; KeyError, TypeError or ValueError where it is not as ``system_json`` writes it."""
    return SystemResult(
        orders={name: _order(item["orders"][name]) for name in ORDERS},
        passive=tuple(item["passive"]),
        geometries=tuple(map(_geometry, item["geometries"])),
        following=tuple(map(_step, item["following"])),
        words=tuple(item["words"]),
        more_wires=tuple({name: _order(one[name]) for name in ORDERS} for one in item["more_wires"]),
    )


def _order(item: Json) -> OrderSystem:
    told = {key: value for key, value in item.items() if key != "holding_a_point"}
    lists = {
        "with_couple": tuple(item["with_couple"]),
        "holding": tuple(item["holding_a_point"]),
        "within_play": tuple(InPlay(**one) for one in item["within_play"]),
    }
    return OrderSystem(**{**told, **lists})


def _geometry(item: Json) -> Geometry:
    told = {key: value for key, value in item.items() if key != "larger_angle_at"}
    one, other = (BracketAngles(**bracket) for bracket in item["brackets"])
    return Geometry(**{**told, "larger": item["larger_angle_at"], "brackets": (one, other)})


def _step(item: Json) -> FollowStep:
    return FollowStep(item["stage"], item["step"], tuple(map(_followed, item["attachments"])))


def _followed(item: Json) -> Followed:
    told = {key: value for key, value in item.items() if key not in ("position_mm", "axes")}
    pose = Pose(np.array(item["position_mm"]), np.array(item["axes"]))
    loads = {"force_n": vector(item["force_n"]), "moment_nmm": vector(item["moment_nmm"])}
    return Followed(**{**told, **loads, "pose": pose})


def read_accuracy(item: Json) -> AccuracyResult:
    """The ``accuracy`` of result.json, or one mesh of its ``sequence``."""
    return AccuracyResult(
        mesh=Mesh(**item["mesh"]),
        compared_with=Mesh(**item["compared_with"]),
        force=_error(item["force"], "n"),
        moment=_error(item["moment"], "nmm"),
        words=tuple(item.get("words", ())),
        wanted_percent=item.get("wanted_percent"),
        sequence=tuple(map(read_accuracy, item.get("sequence", ()))),
    )


def _error(item: Json | None, unit: str) -> Error | None:
    if item is None:
        return None
    return Error(item[f"error_{unit}"], item[f"largest_{unit}"], item["error_percent"], item["attachment"])


def vector(values: Sequence[float]) -> Vector:
    """Three numbers, no more and no less."""
    x, y, z = values
    return (x, y, z)

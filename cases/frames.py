"""The engagement moment by moment, as a file: what an animation is drawn from, without solving again.

``frames.json.gz`` holds the wire and every attachment's force system before engagement and at every increment.  It
serves pictures: places are rounded to a nanometre, stresses to a thousandth of a MPa.  ``result.json`` keeps all digits
of the end.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.files import Writer
from cases.force_system import attachment_result
from cases.output import FRAMES, attachment_json, json_value
from cases.report.stored import StoredError, read_attachment
from cases.results import AttachmentResult, OrderResult, RunResult, WireResult
from cases.run import Run, wire_result
from cases.schema import Case, WireSpec
from fem.model import Model
from geometry.pose import Pose, frozen

Array = NDArray[np.float64]
Json = dict[str, Any]

BEFORE = "before engagement"
NONE = (0.0, 0.0, 0.0)
DIGITS = {"arc_length_mm": 6, "positions_mm": 6, "axes": 9, "passive_positions_mm": 6, "bending_stress_mpa": 3,
          "shear_stress_mpa": 3}  # fmt: skip
"""Of the wire, by the name of its field: decimals kept."""


@dataclass(frozen=True, slots=True)
class Frame:
    """One moment of the way."""

    stage: str
    """That of the increment, or "before engagement"."""
    activation: float
    """Share of the stage."""
    attachments: tuple[AttachmentResult, ...]
    wires: tuple[WireResult, ...]

    def of(self, result: RunResult) -> RunResult:
        """The result as it stands at this moment, to be drawn as any other; what is said of the end goes."""
        return replace(
            result, attachments=self.attachments, wire=self.wires[0], more_wires=self.wires[1:], joints=()
        )


def frames_json(run: Run) -> Json:
    """All frames of a run as plain JSON values."""
    case, model = run.case, run.model
    count = len(case.attachments)
    positions, axes = model.passive_frames(np.array([support.arc for support in model.supports[:count]]))
    frames = []
    for increment in run.path.increments:
        snapshot = increment.snapshot
        attachments = tuple(
            attachment_result(
                spec, k, snapshot, model.wires[spec.wire], axes[k], name=case.wire_of(spec).name
            )
            for k, spec in enumerate(case.attachments)
        )
        wires = tuple(wire_result(case, model, snapshot, number) for number in range(len(case.wires)))
        stage = run.path.legs[increment.leg].name
        frames.append(Frame(stage, increment.activation, attachments, wires))
    first = _before(frames[0], model, [Pose(x, a) for x, a in zip(positions, axes, strict=True)])
    return {"provenance": run.result.provenance, "frames": [_json(one) for one in (first, *frames)]}


def _before(first: Frame, model: Model, poses: Sequence[Pose]) -> Frame:
    """The wire free of stress, every attachment where the wire runs: nothing acts."""
    passive = []
    for wire, own in zip(first.wires, model.wires, strict=True):
        positions, axes = own.frames(wire.arc_length_mm + own.begin)
        none = frozen(np.zeros(len(wire.arc_length_mm)))
        passive.append(
            replace(
                wire, positions_mm=frozen(positions), axes=frozen(axes), passive_positions_mm=frozen(positions),
                bending_stress_mpa=none, shear_stress_mpa=none,
            )
        )  # fmt: skip
    return Frame(BEFORE, 0.0, tuple(map(_unloaded, first.attachments, poses)), tuple(passive))


def _unloaded(item: AttachmentResult, pose: Pose) -> AttachmentResult:
    x, y, z = (float(value) for value in pose.position)
    return replace(
        item, pose=pose, force_n=NONE, moment_nmm=NONE, moment_about_mm=(x, y, z), contacts=(), mouths=(),
        sliding_mm=0.0, orders={name: _centred(order) for name, order in item.orders.items()}, words=(),
        inside_share=1.0, moment_at_centre_of_resistance_nmm=None, at_centre_of_resistance=None,
    )  # fmt: skip


def _centred(order: OrderResult) -> OrderResult:
    return replace(
        order, moment_nmm=0.0, activation_deg=0.0, engagement_deg=None if order.engagement_deg is None else 0.0,
        play_left_deg=order.play_deg, carries_couple=False, words=BEFORE,
    )  # fmt: skip


def _json(frame: Frame) -> Json:
    items = [attachment_json(item) for item in frame.attachments]
    wires = [
        {name: np.round(getattr(wire, name), digits) for name, digits in DIGITS.items()}
        for wire in frame.wires
    ]
    # What a tooth makes of its load is in result.json; no picture of the way shows it.
    loads = [{**item, "at_centre_of_resistance": None} for item in items]
    told = json_value(
        {"stage": frame.stage, "activation": frame.activation, "attachments": loads, "wires": wires}, "frames"
    )
    assert isinstance(told, dict)
    return told


def frame_writers(run: Run) -> Mapping[str, Writer]:
    """By file name, what writes the frames of a run; the same run gives the same bytes."""

    def write(path: Path) -> None:
        text = json.dumps(frames_json(run), separators=(",", ":"), allow_nan=False, ensure_ascii=False)
        path.write_bytes(gzip.compress(text.encode("utf-8"), mtime=0))

    return {FRAMES: write}


def frames_of(run: Run) -> tuple[Frame, ...]:
    """The frames of a run, as they would be read from its file."""
    return _frames(frames_json(run), run.case)


def read_frames(folder: Path, case: Case, result: RunResult) -> tuple[Frame, ...]:
    """The frames that the run of ``result`` has left in ``folder``.

    Raises StoredError where there are none, or where they belong to another run."""
    path = folder / FRAMES
    try:
        data = json.loads(gzip.decompress(path.read_bytes()))
        if data["provenance"] != result.provenance:
            raise StoredError(
                f"{path} belongs to another run than the result beside it; run the case again with 'wireslot run', or "
                "leave out --results"
            )
        return _frames(data, case)
    except OSError as error:
        raise StoredError(
            f"no frames to draw an animation from: {path} cannot be read ({error.strerror or error}); 'wireslot run' "
            "writes them, or leave out --results"
        ) from error
    except (EOFError, KeyError, TypeError, ValueError) as error:
        raise StoredError(
            f"{path} is not as this version writes it ({type(error).__name__}: {error}); run the case again with "
            "'wireslot run', or leave out --results"
        ) from error


def _frames(data: Mapping[str, Any], case: Case) -> tuple[Frame, ...]:
    return tuple(
        Frame(
            one["stage"],
            float(one["activation"]),
            tuple(
                read_attachment(item, spec)
                for item, spec in zip(one["attachments"], case.attachments, strict=True)
            ),
            tuple(_wire(wire, spec) for wire, spec in zip(one["wires"], case.wires, strict=True)),
        )
        for one in data["frames"]
    )


def _wire(columns: Mapping[str, Any], spec: WireSpec) -> WireResult:
    read = {name: frozen(np.array(columns[name], dtype=np.float64)) for name in DIGITS}
    none = frozen(np.zeros((len(read["arc_length_mm"]), 3)))
    return WireResult(
        name=spec.name,
        section=spec.section,
        arc_length_mm=read["arc_length_mm"],
        positions_mm=read["positions_mm"],
        axes=read["axes"],
        passive_positions_mm=read["passive_positions_mm"],
        bending_stress_mpa=read["bending_stress_mpa"],
        shear_stress_mpa=read["shear_stress_mpa"],
        force_n=none,
        moment_nmm=none,
        largest_stress_mpa=float(max(read["bending_stress_mpa"].max(), read["shear_stress_mpa"].max())),
        yield_share=None,
    )

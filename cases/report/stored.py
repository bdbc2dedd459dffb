"""A result read back from its files, so that a report needs no second solve.

``result.json`` and ``wire.csv`` keep all digits, so what is read is what was written, to the last bit.  What they do
not hold, the wire's section and the shapes of the attachments, comes from the case file, whose fingerprint must be the
one that the result names.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.errors import WireslotError
from cases.memory_results import CycleLoss, SetAtAttachment, WireMemory
from cases.report.stored_system import read_accuracy, read_system, vector
from cases.results import (
    ORDERS,
    AttachmentOnPath,
    AttachmentResult,
    BenchReading,
    BenchResult,
    ContactResult,
    DeactivationReading,
    DeactivationResult,
    EquilibriumResult,
    IncrementResult,
    JointResult,
    ModulusEnd,
    ModulusSpread,
    MouthResult,
    OrderResult,
    RunResult,
    SharedTooth,
    WireResult,
)
from cases.schema import AttachmentSpec, BenchSpec, Case
from cases.tooth_results import PlaneTendency, PublishedRange, ToothDisplacement, ToothResult
from geometry.pose import Pose, frozen

Array = NDArray[np.float64]
Json = Mapping[str, Any]

RESULT, WIRE = "result.json", "wire.csv"
KEYS = frozenset(
    {
        "title",
        "status",
        "status_words",
        "attachments",
        "equilibrium",
        "wire",
        "increments",
        "deactivations",
        "bench",
    }
    | {
        "more_wires",
        "joints",
        "teeth",
        "system",
        "accuracy",
        "modulus_spread",
        "memory",
        "assumptions",
        "conventions",
        "caution",
        "provenance",
    }
)
"""Of result.json.  One that is not known here would be lost without a word."""
AGAIN = "solve it again: leave out --results, and give another folder with --out or none"


class StoredError(WireslotError):
    """Stored results that cannot be read, or that belong to another case."""

    exit_code = 2


def read_result(folder: Path, case: Case) -> RunResult:
    """The result that a run of ``case`` has left in ``folder``.

    Raises StoredError where there is none, where it belongs to another case or to other data files, or where it was
    written by a version of the program whose files are different."""
    data = _json(folder / RESULT)
    _must_belong(data, case, folder)
    try:
        return _result(data, _columns(folder / WIRE), case)
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise StoredError(
            f"the results in {folder} are not as this version writes them ({type(error).__name__}: {error}); {AGAIN}"
        ) from error


def _json(path: Path) -> Json:
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise StoredError(
            f"no stored result: {path} cannot be read ({error.strerror}); give the folder of a "
            "'wireslot run', or leave out --results"
        ) from error
    except ValueError as error:
        raise StoredError(f"{path} is no result of a run ({error}); {AGAIN}") from error
    if not isinstance(data, dict) or not isinstance(data.get("provenance"), dict):
        raise StoredError(f"{path} is no result of a run; {AGAIN}")
    return data


def _must_belong(data: Json, case: Case, folder: Path) -> None:
    origin = data["provenance"]
    files = {file.name: file.sha256 for file in case.data_files}
    if origin.get("case_sha256") != case.sha256:
        what = f"{case.path.name} is not the case file they were computed from ({origin.get('case_file')})"
        if origin.get("case_file") == case.path.name:
            what = f"{case.path.name} has been changed since"
    elif origin.get("data_files") != files:
        changed = sorted({*files, *origin.get("data_files", {})})
        what = f"a file that it names has been changed since ({', '.join(changed)})"
    else:
        return
    raise StoredError(f"the results in {folder} do not belong to this case: {what}; {AGAIN}")


def _columns(path: Path) -> dict[str, Array]:
    """Of wire.csv, by name."""
    try:
        with path.open(encoding="utf-8", newline="") as file:
            names, *rows = list(csv.reader(file))
    except OSError as error:
        raise StoredError(
            f"no stored result: {path} cannot be read ({error.strerror}); it stands beside {RESULT} after a run"
        ) from error
    values = np.array(rows, dtype=np.float64)
    return {name: frozen(values[:, k]) for k, name in enumerate(names)}


def _result(data: Json, columns: Mapping[str, Array], case: Case) -> RunResult:
    unknown = sorted(set(data) - KEYS)
    if unknown:
        raise ValueError(f"unknown: {', '.join(unknown)}")
    left, bench, accuracy = data["equilibrium"], data["bench"], data["accuracy"]
    return RunResult(
        title=data["title"],
        status=data["status"],
        status_words=tuple(data["status_words"]),
        attachments=tuple(
            read_attachment(item, spec)
            for item, spec in zip(data["attachments"], case.attachments, strict=True)
        ),
        equilibrium=EquilibriumResult(vector(left["force_n"]), vector(left["moment_nmm"]), left["floor_n"]),
        wire=_wire(data["wire"], columns, case, 0),
        increments=tuple(map(_increment, data["increments"])),
        assumptions=tuple(data["assumptions"]),
        provenance=data["provenance"],
        deepest_between_stations_mm=data["wire"]["deepest_between_stations_mm"],
        bench=None if bench is None else _bench(bench, case.bench),
        deactivations=tuple(map(_deactivation, data["deactivations"])),
        system=None if data["system"] is None else read_system(data["system"]),
        accuracy=None if accuracy is None else read_accuracy(accuracy),
        more_wires=tuple(
            _wire(item, columns, case, number) for number, item in enumerate(data["more_wires"], start=1)
        ),
        joints=tuple(map(_joint, data["joints"])),
        teeth=tuple(map(_shared, data["teeth"])),
        modulus_spread=_spread(data["modulus_spread"]),
        memory=_memory(data["memory"]),
    )


def _memory(item: Json | None) -> WireMemory | None:
    if item is None:
        return None
    parts = {
        "cycles": tuple(CycleLoss(**one) for one in item["cycles"]),
        "sets": tuple(SetAtAttachment(**one) for one in item["sets"]),
        "words": tuple(item["words"]),
        "released": None,
    }
    return WireMemory(**{**item, **parts})


def _spread(item: Json | None) -> ModulusSpread | None:
    if item is None:
        return None
    ends = tuple(ModulusEnd(**one) for one in item["ends"])
    return ModulusSpread(**{**item, "gives_way": tuple(item["gives_way"]), "ends": ends})


def read_attachment(item: Json, spec: AttachmentSpec) -> AttachmentResult:
    """One attachment of a stored result.  Raises KeyError, TypeError or ValueError where it is not as written."""
    if item["name"] != spec.name:
        raise ValueError(f'attachment "{item["name"]}" stands where "{spec.name}" was expected')
    slot, tooth = item["slot_mm"], item["at_centre_of_resistance"]
    at_centre = item["moment_at_centre_of_resistance_nmm"]
    told = {key: value for key, value in item.items() if key != "slot_mm"}
    vectors = {key: vector(item[key]) for key in ("force_n", "moment_nmm", "moment_about_mm")}
    here = {
        "orders": {name: _order(item["orders"][name]) for name in ORDERS},
        "mouths": tuple(map(_mouth, item["mouths"])),
        "contacts": tuple(
            ContactResult(**{**one, "place_mm": vector(one["place_mm"])}) for one in item["contacts"]
        ),
        "moment_at_centre_of_resistance_nmm": None if at_centre is None else vector(at_centre),
        "words": tuple(item["words"]),
        "pose": Pose(np.array(item["pose"]["position_mm"]), np.array(item["pose"]["axes"])),
        "slot_size_mm": None if slot is None else (slot["height"], slot["depth"], slot["width"]),
        "attachment": spec.attachment,
        "at_centre_of_resistance": None if tooth is None else _tooth(tooth),
    }
    return AttachmentResult(**{**told, **vectors, **here})


def _mouth(item: Json) -> MouthResult:
    return MouthResult(
        **{**item, "force_n": vector(item["force_n"]), "moment_nmm": vector(item["moment_nmm"])}
    )


def _order(item: Json) -> OrderResult:
    return OrderResult(**{**item, "stopping_walls": tuple(item["stopping_walls"])})


def _tooth(item: Json) -> ToothResult:
    moved = item["displacement"]
    return ToothResult(
        centre_from_slot_mm=vector(item["from_slot_mm"]),
        source=item["source"],
        force_n=vector(item["force_n"]),
        moment_nmm=vector(item["moment_nmm"]),
        planes={order: PlaneTendency(**plane) for order, plane in item["planes"].items()},
        published=tuple(map(_range, item["published_ranges"])),
        words=tuple(item["words"]),
        support=item["support"],
        displacement=None if moved is None else _displacement(moved),
    )


def _range(item: Json) -> PublishedRange:
    unit = "nmm" if "least_nmm" in item else "n"
    return PublishedRange(
        item["movement"], item[f"least_{unit}"], item[f"most_{unit}"], item["source"], unit == "nmm"
    )


def _displacement(item: Json) -> ToothDisplacement:
    return ToothDisplacement(
        translation_mm=vector(item["translation_mm"]),
        rotation_deg=vector(item["rotation_deg"]),
        slot_translation_mm=vector(item["slot_translation_mm"]),
        centre_of_rotation_mm={
            order: None if point is None else vector(point)
            for order, point in item["centre_of_rotation_mm"].items()
        },
        words=tuple(item["words"]),
    )


def _joint(item: Json) -> JointResult:
    vectors = {key: vector(item[key]) for key in ("place_mm", "force_n")}
    return JointResult(**{**item, **vectors})


def _shared(item: Json) -> SharedTooth:
    vectors = {key: vector(item[key]) for key in ("force_n", "moment_at_centre_of_resistance_nmm")}
    tooth = {"at_centre_of_resistance": _tooth(item["at_centre_of_resistance"])}
    return SharedTooth(**{**item, "attachments": tuple(item["attachments"]), **vectors, **tooth})


def _wire(item: Json, columns: Mapping[str, Array], case: Case, number: int) -> WireResult:
    section = case.wires[number].section
    if "wire" in columns:
        here = columns["wire"] == number + 1
        columns = {name: frozen(values[here]) for name, values in columns.items()}
    if item["section"] != section.label:
        raise ValueError(f"the wire is {item['section']}, not {section.label}")

    def stacked(*names: str) -> Array:
        return frozen(np.column_stack([columns[name] for name in names]))

    axes = [[f"{axis}_{part}" for part in "xyz"] for axis in ("tangent", "height_axis", "depth_axis")]
    return WireResult(
        section=section,
        arc_length_mm=columns["arc_length_mm"],
        positions_mm=stacked("x_mm", "y_mm", "z_mm"),
        axes=frozen(np.stack([stacked(*names) for names in axes], axis=2)),
        passive_positions_mm=stacked("passive_x_mm", "passive_y_mm", "passive_z_mm"),
        bending_stress_mpa=columns["bending_stress_mpa"],
        shear_stress_mpa=columns["shear_stress_mpa"],
        force_n=stacked("axial_force_n", "force_along_height_n", "force_along_depth_n"),
        moment_nmm=stacked("torsion_moment_nmm", "moment_about_height_nmm", "moment_about_depth_nmm"),
        largest_stress_mpa=item["largest_stress_mpa"],
        yield_share=item["yield_share"],
        name=item["name"],
        strands=item["strands"],
    )


def _increment(item: Json) -> IncrementResult:
    loads = tuple(
        AttachmentOnPath(
            one["name"],
            vector(one["force_n"]),
            vector(one["moment_nmm"]),
            vector([one["orders_moment_nmm"][name] for name in ORDERS]),
            None if one["own_force_n"] is None else vector(one["own_force_n"]),
        )
        for one in item["attachments"]
    )
    return IncrementResult(**{**item, "attachments": loads})


def _bench(item: Json, spec: BenchSpec | None) -> BenchResult:
    if spec is None:
        raise ValueError("the result has a bench test, the case has none")
    turns = any("travel_deg" in one for one in item["readings"])
    travel, load = ("travel_deg", "load_nmm") if turns else ("travel_mm", "load_n")
    measured = spec.measured
    return BenchResult(
        moved=item["moved"],
        sensor=item["sensor"],
        turns=turns,
        axis=item["axis"],
        readings=tuple(
            BenchReading(
                one["stage"], one[travel], vector(one["force_n"]), vector(one["moment_nmm"]), one[load]
            )
            for one in item["readings"]
        ),
        measured_file=item["measured_file"],
        measured_travel=() if measured is None else measured.travel,
        measured_load=() if measured is None else measured.load,
    )


def _deactivation(item: Json) -> DeactivationResult:
    turns = "half_at_deg" in item
    way, load = ("deg", "nmm") if turns else ("mm", "n")
    return DeactivationResult(
        stage=item["stage"],
        attachment=item["attachment"],
        turns=turns,
        readings=tuple(DeactivationReading(**one) for one in item["readings"]),
        half_at=item[f"half_at_{way}"],
        until=item[f"until_{load}"],
        working_range=item[f"working_range_{way}"],
    )

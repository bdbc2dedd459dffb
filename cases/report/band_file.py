"""The band of tolerance that a figure of torque may show: from a folder of ``wireslot study``."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cases.errors import WireslotError
from cases.schema import Case
from cases.show.plots import Band
from cases.study.names import slug

MANIFEST, SUMMARY = "study.json", "summary.json"
UNIT = "deg"


class BandError(WireslotError):
    """A folder that holds no study from which a band can be drawn."""

    exit_code = 2


def read_band(folder: Path, case: Case, attachment: str) -> Band:
    """Median, 5th and 95th percentile of the torque on ``attachment`` along the one angle of the study's grid.

    Raises BandError where the folder has no finished study, where it is one of another case, or where its grid is no
    angle or its answers hold no torque on that attachment."""
    manifest, summary = _read(folder / MANIFEST), _read(folder / SUMMARY)
    try:
        return _band(folder, case, attachment, manifest, summary)
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise BandError(
            f"{folder / SUMMARY} is not as this version writes it ({type(error).__name__}: {error}); run it again"
        ) from error


def _band(
    folder: Path, case: Case, attachment: str, manifest: Mapping[str, Any], summary: Mapping[str, Any]
) -> Band:
    origin = manifest["case_file"]
    if origin["sha256"] != case.sha256:
        raise BandError(
            f"the study in {folder} is not one of {case.path.name} as it stands now, but of {origin['name']}; "
            "give that case, or run the study again"
        )
    column = f"moment_{slug(attachment)}_third_nmm"
    places, low, middle, high = [], [], [], []
    for point in summary["points"]:
        (name, value), *others = point["grid"].items() or [("", "")]
        number, _, unit = str(value).partition(" ")
        if others or unit != UNIT:
            raise BandError(
                f"the study in {folder} does not run over one angle in {UNIT}; a band of torque needs a grid of one "
                "angle, and a sample"
            )
        spread = point["outputs"].get(column)
        if spread is None:
            continue
        places.append(float(number))
        low.append(float(spread["percentile_5"]))
        middle.append(float(spread["percentile_50"]))
        high.append(float(spread["percentile_95"]))
    if len(places) < 2:
        raise BandError(
            f"the study in {folder} has no torque on {attachment} at two points of its grid ({column})"
        )
    count = summary["points"][0]["rows"]
    label = f"5 to 95 %, {count[1] - count[0] + 1} appliances an angle"
    return Band(label, tuple(places), tuple(low), tuple(middle), tuple(high))


def band_note(folder: Path) -> str:
    """What a figure says of its band."""
    summary = _read(folder / SUMMARY)
    (name,) = summary["points"][0]["grid"]
    bad = {k: n for k, n in summary["statuses"].items() if k not in summary["counted_statuses"]}
    left = f" {sum(bad.values())} of {summary['rows']} rows do not count." if bad else ""
    return f'Band: study "{summary["title"]}"; its {name} stands for the angle of activation.{left}'


def _read(path: Path) -> Mapping[str, Any]:
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise BandError(
            f"no study there: {path} cannot be read ({error.strerror}); give the folder of a 'wireslot study'"
        ) from error
    except ValueError as error:
        raise BandError(f"{path} is no summary of a study ({error}); run the study again") from error
    if not isinstance(data, dict):
        raise BandError(f"{path} is no summary of a study; run the study again")
    return data

"""Tolerances of play against first-order propagation and normal probability, through the whole study."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from cases.study.names import output_columns
from cases.study.run_study import run_study
from cases.study.studyfile import Study
from cases.study.summary import Rows, Summary, read_rows, summarise
from tests.study_texts import SLOT, normal, sample, study_of, vary

INCH = 25.4


def ran(folder: Path, study: Study) -> tuple[Rows, Summary]:
    rows = read_rows(run_study(study, folder / "out").table, study)
    return rows, summarise(study, rows)


@pytest.mark.parametrize("design", ["random", "sobol"])
def test_spread_of_third_order_play(tmp_path: Path, design: str) -> None:
    """h cos g + d sin g = H for a sharp wire of h x d in a slot of height H, differentiated:

    dg (d cos g - h sin g) = dH - cos g dh - sin g dd; the variances add up (first-order propagation).
    """
    mean, deviation = (0.022, 0.019, 0.025), (0.0001, 0.00008, 0.00006)
    count = 2**12
    study = study_of(
        tmp_path,
        normal(SLOT, mean[0], deviation[0]),
        normal("wire.section.height", mean[1], deviation[1]),
        normal("wire.section.depth", mean[2], deviation[2]),
        sample(design, count),
    )
    rows, summary = ran(tmp_path, study)
    assert set(rows.status) == {"fits"}
    spread = summary.points[0].outputs[
        output_columns(study.base).index("play_lateral_incisor_bracket_third_deg")
    ]
    assert spread is not None and spread.deviation is not None

    slot, height, depth = mean
    reach = math.hypot(height, depth)
    play = math.asin(slot / reach) - math.atan2(height, depth)  # h cos g + d sin g = reach sin(g + atan(h/d))
    slope = depth * math.cos(play) - height * math.sin(play)
    parts = (1.0, -math.cos(play), -math.sin(play))
    expected = math.degrees(
        math.sqrt(sum((p * s / slope) ** 2 for p, s in zip(parts, deviation, strict=True)))
    )
    # three standard errors of a standard deviation from plain sampling: 1/sqrt(2 n) each, 1.1 %
    error = 3.0 / math.sqrt(2.0 * count)
    # what first order leaves out of the variance, from the curvature by H: tan g/slope^2 for each, squared over two
    bent = 0.5 * (math.degrees(1.0) * (depth * math.sin(play) + height * math.cos(play)) / slope**3) ** 2
    left_out = bent * (sum((p * s) ** 2 for p, s in zip(parts, deviation, strict=True))) ** 2 / expected**2
    assert left_out < 1e-3
    assert spread.deviation == pytest.approx(expected, rel=error + left_out)
    assert spread.percentiles[1] == pytest.approx(math.degrees(play), abs=4.0 * expected / math.sqrt(count))
    # ranks order themselves as the shares of the variance do
    shares = {one.name: abs(p * s) for one, p, s in zip(study.varied, parts, deviation, strict=True)}
    assert sorted(shares, key=lambda name: shares[name]) == sorted(
        spread.ranks, key=lambda name: abs(spread.ranks[name])
    )


def test_share_that_does_not_fit(tmp_path: Path) -> None:
    """The difference of two normal sizes is normal: the share below zero is its probability."""
    slot, wire = (0.0184, 0.0002), (0.0182, 0.0001)
    count = 2**12
    study = study_of(
        tmp_path,
        normal(SLOT, *slot),
        normal("wire.section.height", *wire),
        sample("random", count, seed=7),
    )
    rows, summary = ran(tmp_path, study)
    expected = float(stats.norm.cdf((wire[0] - slot[0]) / math.hypot(slot[1], wire[1])))
    share = summary.statuses["does not fit"] / count
    assert share == pytest.approx(expected, abs=3.0 * math.sqrt(expected * (1.0 - expected) / count))
    for status, inputs, outputs, remark in zip(
        rows.status, rows.inputs, rows.outputs, rows.remarks, strict=True
    ):
        fits = inputs[1] <= inputs[0]  # type: ignore[operator]
        assert status == ("fits" if fits else "does not fit")
        assert np.isnan(outputs).all() != fits and ("does not fit the slot of" in remark) != fits
    counted = summary.points[0].outputs[0]
    assert counted is not None and counted.count == summary.statuses["fits"]


def test_sobol_indices_of_a_play(tmp_path: Path) -> None:
    """Of a nearly straight answer they are the shares of the propagated variance."""
    study = study_of(
        tmp_path,
        normal(SLOT, 0.022, 0.0001),
        normal("wire.section.height", 0.019, 0.00005),
        sample("sobol indices", 1024),
    )
    assert study.rows == 4 * 1024
    _, summary = ran(tmp_path, study)
    spread = summary.points[0].outputs[
        output_columns(study.base).index("play_lateral_incisor_bracket_third_deg")
    ]
    assert spread is not None
    play = math.asin(0.022 / math.hypot(0.019, 0.025)) - math.atan2(0.019, 0.025)
    parts = np.array([0.0001**2, (math.cos(play) * 0.00005) ** 2])
    shares = parts / parts.sum()
    # two standard errors of plain sampling of 1024: the sums averaged have a deviation of about one variance
    assert list(spread.first.values()) == pytest.approx(shares, abs=2.0 / math.sqrt(1024))
    assert list(spread.total.values()) == pytest.approx(shares, abs=2.0 / math.sqrt(1024))


def test_what_is_no_case_is_a_row(tmp_path: Path) -> None:
    study = study_of(
        tmp_path,
        vary("wire.section.edge_radius", 'distribution = "uniform"', 'least = "0.1 mm"', 'most = "0.3 mm"'),
        sample("latin hypercube", 40),
    )
    rows, summary = ran(tmp_path, study)
    for status, (radius,), remark in zip(rows.status, rows.inputs, rows.remarks, strict=True):
        fits = float(radius) <= 0.5 * 0.019 * INCH
        assert status == ("fits" if fits else "no case"), (radius, remark)
        assert bool(remark) != fits
    assert summary.statuses["no case"] > 0

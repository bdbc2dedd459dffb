"""Samples against what is known of them: moments of distributions, ranks of a copula, Sobol indices."""

from __future__ import annotations

import math
import tomllib

import numpy as np
import pytest
from scipy import stats

from cases.reader import Findings, Table
from cases.study.distributions import Distribution, read_distribution
from cases.study.effects import fit
from cases.study.sampling import INDICES, LATIN, SOBOL, correlated, inputs, unit_sample
from cases.study.summary import ranks, sobol

EVEN = (np.arange(200_000) + 0.5) / 200_000
"""Numbers so even that means over them are integrals to a few parts in a million."""


def read(text: str) -> Distribution:
    found = read_distribution(Table(Findings({}), (), tomllib.loads(text)), ())
    assert found is not None
    return found[0]


# Mean and standard deviation: closed forms of Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions (from
# memory); a truncated normal by scipy's own moments.
A, C, B = 18.0, 21.0, 22.0
TRUNCATED = stats.truncnorm((0.5 - 1.0) / 0.4, (2.0 - 1.0) / 0.4, 1.0, 0.4)


@pytest.mark.parametrize(
    ("text", "mean", "deviation"),
    [
        ('distribution = "normal"\nmean = "0.019 in"\ndeviation = "0.0002 in"', 0.019, 0.0002),
        ('distribution = "uniform"\nleast = "1 mm"\nmost = "4 mm"', 2.5, 3.0 / math.sqrt(12.0)),
        (f'distribution = "triangular"\nleast = "{A} deg"\npeak = "{C} deg"\nmost = "{B} deg"', (A + B + C) / 3.0,
         math.sqrt((A * A + B * B + C * C - A * B - A * C - B * C) / 18.0)),
        ('distribution = "truncated normal"\nmean = 1.0\ndeviation = 0.4\nleast = 0.5\nmost = 2.0',
         float(TRUNCATED.mean()), float(TRUNCATED.std())),
        ('distribution = "table"\nvalues = [1.0, 2.0, 5.0]\nweights = [1, 2, 1]', 2.5, 1.5),
        ('distribution = "histogram"\nedges = [0.0, 1.0, 3.0]\nweights = [1, 1]', 1.25,
         math.sqrt(0.5 * (1.0 / 3.0 + 13.0 / 3.0) - 1.25**2)),
    ],
)  # fmt: skip
def test_distributions(text: str, mean: float, deviation: float) -> None:
    values = np.array(read(text).quantiles(EVEN), dtype=np.float64)
    assert values.mean() == pytest.approx(mean, rel=1e-4)
    assert values.std() == pytest.approx(deviation, rel=1e-3)


def test_words_come_as_often_as_their_weights() -> None:
    drawn = read('distribution = "table"\nvalues = ["closed", "elastomeric"]\nweights = [3, 1]').quantiles(
        EVEN
    )
    assert drawn.count("closed") == 150_000 and drawn.count("elastomeric") == 50_000


def test_mixed_units_are_converted() -> None:
    assert read('distribution = "normal"\nmean = "0.5 mm"\ndeviation = "0.001 in"').numbers == (0.5, 0.0254)


@pytest.mark.parametrize("coefficient", [0.7, -0.5, 0.0])
def test_rank_correlation_of_the_copula(coefficient: float) -> None:
    """6/pi asin(r/2), whatever the distributions (Pearson 1907; from memory)."""
    sample = unit_sample("random", 20_000, 2, 5)
    joined = correlated(sample, np.array([[1.0, coefficient], [coefficient, 1.0]]))
    rank = ranks(joined[:, 0], joined[:, 1])
    # the standard error of a rank correlation of n independent pairs is 1/sqrt(n - 1): 0.007
    assert rank == pytest.approx(6.0 / math.pi * math.asin(0.5 * coefficient), abs=0.02)
    for column in joined.T:  # each key alone keeps its distribution
        assert stats.kstest(column, "uniform").pvalue > 0.01


def test_ranks_are_those_of_scipy() -> None:
    generator = np.random.default_rng(2)
    a, b = generator.random(50), generator.integers(0, 5, 50).astype(float)
    assert ranks(a, b) == pytest.approx(float(stats.spearmanr(a, b).statistic), abs=1e-12)
    assert ranks(a, np.ones(50)) is None


def test_a_latin_hypercube_has_one_in_every_stratum() -> None:
    sample = unit_sample(LATIN, 40, 3, 9)
    for column in sample.T:
        assert sorted(np.floor(column * 40).astype(int)) == list(range(40))


def test_samples_are_repeated_by_their_seed() -> None:
    for design in ("random", LATIN, SOBOL, INDICES):
        assert np.array_equal(unit_sample(design, 16, 3, 4), unit_sample(design, 16, 3, 4))
        assert not np.array_equal(unit_sample(design, 16, 3, 4), unit_sample(design, 16, 3, 5))


def test_every_point_of_a_grid_has_the_same_sample() -> None:
    flat = Distribution("uniform", (0.0, 1.0))
    rows = inputs([["a", "b"], [1.0, 2.0, 3.0]], [flat, flat], unit_sample(LATIN, 4, 2, 1))
    assert (
        len(rows) == 24
        and rows[0][:2] == ("a", 1.0)
        and rows[4][:2] == ("a", 2.0)
        and rows[12][:2] == ("b", 1.0)
    )
    assert all(rows[k][2:] == rows[k + 4][2:] for k in range(20))


ISHIGAMI_A, ISHIGAMI_B = 7.0, 0.1


def test_sobol_indices_of_the_ishigami_function() -> None:
    """sin x1 + a sin^2 x2 + b x3^4 sin x1, uniform from -pi to pi, a = 7, b = 0.1: Ishigami & Homma, Proc. ISUMA '90.

    First 0.3139, 0.4424, 0; total 0.5576, 0.4424, 0.2437 (Saltelli et al., Global Sensitivity Analysis: The Primer,
    2008; digits from memory, and computed here by its closed forms).
    """
    a, b, pi = ISHIGAMI_A, ISHIGAMI_B, math.pi
    alone = 0.5 * (1.0 + b * pi**4 / 5.0) ** 2, a * a / 8.0, 0.0
    together = 8.0 * b * b * pi**8 / 225.0
    whole = sum(alone) + together
    first = [part / whole for part in alone]
    total = [(alone[0] + together) / whole, alone[1] / whole, together / whole]
    assert first == pytest.approx([0.3139, 0.4424, 0.0], abs=5e-5)
    assert total == pytest.approx([0.5576, 0.4424, 0.2437], abs=5e-5)

    uniform = Distribution("uniform", (-pi, pi))
    count = 2**14
    x = np.array(inputs([], [uniform] * 3, unit_sample(INDICES, count, 3, 1)), dtype=np.float64)
    values = np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])
    assert values.var() == pytest.approx(whole, rel=0.02)
    found = sobol(values, 3)
    assert found is not None
    f_a, f_b, *mixed = values.reshape(5, count) - a / 2.0
    for k, f_ab in enumerate(mixed):
        # two standard errors of plain sampling, of the sums that the estimators average
        error = 2.0 * np.std(f_b * (f_ab - f_a)) / whole / math.sqrt(count)
        assert found[0][k] == pytest.approx(first[k], abs=error) and error < 0.03
        error = 2.0 * np.std(0.5 * (f_a - f_ab) ** 2) / whole / math.sqrt(count)
        assert found[1][k] == pytest.approx(total[k], abs=error) and error < 0.03


def test_sobol_indices_need_every_row() -> None:
    values = np.arange(5.0 * 8)
    assert sobol(values, 3) is not None
    assert sobol(np.where(values == 7.0, np.nan, values), 3) is None
    assert sobol(np.ones(40), 3) is None


def test_a_straight_answer_is_fitted_exactly() -> None:
    keys = np.random.default_rng(3).random((60, 2))
    found = fit(keys, 5.0 + 2.0 * keys[:, 0] - 7.0 * keys[:, 1], ["a", "b"])
    assert found.fitted == pytest.approx(1.0, abs=1e-12) and [bar.name for bar in found.bars] == ["b", "a"]
    low, high = np.percentile(keys[:, 1], (5.0, 95.0))
    assert found.bars[0].high - found.bars[0].low == pytest.approx(-7.0 * (high - low), rel=1e-9)

"""Published ranges compared once for all tests that read them: some fifteen seconds."""

from __future__ import annotations

from functools import cache

from cases.bench_tests.compared import Compared
from cases.bench_tests.range_bends import RangeBends
from cases.bench_tests.ranges import compare_ranges


@cache
def ranges() -> tuple[RangeBends, tuple[Compared, ...]]:
    """All bends and all comparisons."""
    return compare_ranges()


def rows_of(key: str) -> tuple[Compared, ...]:
    """The comparisons with one published range, or with those of one key."""
    found = tuple(row for row in ranges()[1] if row.published.key == key)
    assert found
    return found

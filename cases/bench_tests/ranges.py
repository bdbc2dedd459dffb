"""All published ranges of wires in bending beside what is computed for them, as rows and as a table."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cases.bench_tests.compared import MET, NOT_MET, WITHIN, Compared
from cases.bench_tests.range_bends import RangeBends, carry_out_ranges
from cases.bench_tests.range_rows import modulus_rows, springback_rows, stiffness_rows, unloading_rows
from cases.bench_tests.strand_rows import multistrand_rows
from cases.show.tables import Table

COLUMNS = (
    "group", "quantity", "alloy", "wire", "how", "unit", "published", "published_low", "published_high", "source",
    "read_or_memory", "not_told", "computed", "computed_low", "computed_high", "verdict", "why",
)  # fmt: skip
WORDS = (
    "met: by the library's values. met within ranges: by other values within the ranges of the alloys' constants. "
    "A measurement validates; that a modulus chosen inside a range is read back validates nothing, and is said. 'from "
    "memory' marks a range for which no source was at hand."
)


def compared(bends: RangeBends) -> tuple[Compared, ...]:
    """Every comparison, group by group."""
    rows = (
        *unloading_rows(bends), *modulus_rows(bends), *springback_rows(bends), *stiffness_rows(bends),
        *multistrand_rows(bends),
    )  # fmt: skip
    groups = list(dict.fromkeys(row.group for row in rows))
    return tuple(sorted(rows, key=lambda row: groups.index(row.group)))


def compare_ranges(
    say: Callable[[str], None] = lambda _: None,
) -> tuple[RangeBends, tuple[Compared, ...]]:
    """Everything bent and compared.  Raises NoEquilibrium or `fem.fibre_section.Unbalanced`."""
    bends = carry_out_ranges(say)
    return bends, compared(bends)


def summary(rows: Sequence[Compared]) -> str:
    """How many ranges were met, in one sentence."""
    counts = {verdict: sum(row.verdict == verdict for row in rows) for verdict in (MET, WITHIN, NOT_MET)}
    return (
        f"{len(rows)} comparisons: {counts[MET]} met, {counts[WITHIN]} met within the ranges of the alloys, "
        f"{counts[NOT_MET]} not met and explained."
    )


def ranges_table(rows: Sequence[Compared]) -> Table:
    """One row a comparison."""
    return Table(COLUMNS, tuple(_cells(row) for row in rows))


def _cells(row: Compared) -> tuple[str | float, ...]:
    one = row.published
    return (
        row.group, one.quantity, one.alloy, row.wire, row.how, one.unit, one.said, one.low, one.high, one.source,
        one.mark, one.untold, row.value, row.low, row.high, row.verdict, row.why,
    )  # fmt: skip

"""From a target file (TOML) to a ``Target``, or to every problem it has, each with its line and what to do.

Nothing is solved here, but the case is read at the middle of all unknowns, at each bound and with every listed value.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from cases.casefile import file_text, parse_case, parsed_toml, read_case
from cases.checks import DOES_NOT_FIT
from cases.errors import CaseFileError
from cases.reader import Findings, Table
from cases.schema import Case
from cases.study.quantities import Unit
from cases.target.unknowns import Unknown, read_unknowns, value_at
from cases.target.wanted import Limits, Wanted, read_limits, read_wanted
from cases.toml_lines import Key, key_lines, key_text

MOST_STARTS = 1000
MOST_EVALUATIONS = 1000
MOST_COMBINATIONS = 200
"""Of listed values: each is a search of its own."""


@dataclass(frozen=True, slots=True)
class Search:
    """How long is searched, and what is kept."""

    starts: int = 8
    """For each combination of listed values."""
    seed: int = 1
    evaluations: int = 40
    """At most, from each start."""
    keep: int = 3
    """Candidates written as case files."""


@dataclass(frozen=True, slots=True)
class Target:
    """A target that has been found good."""

    title: str
    path: Path
    text: str
    data: Mapping[str, Any]
    """The tables of the case file."""
    lines: dict[Key, int]
    case: Case
    """As its file has it."""
    unknowns: tuple[Unknown, ...]
    wanted: tuple[Wanted, ...]
    limits: Limits
    search: Search
    angle_error: float
    """rad by which a bend may be off."""
    length_error: float
    """mm by which a length may be."""
    warnings: tuple[str, ...] = ()

    @property
    def free(self) -> tuple[Unknown, ...]:
        """The unknowns between bounds."""
        return tuple(one for one in self.unknowns if not one.listed)

    @property
    def listed(self) -> tuple[Unknown, ...]:
        """The unknowns from lists."""
        return tuple(one for one in self.unknowns if one.listed)

    @property
    def bends(self) -> tuple[Unknown, ...]:
        """Bends of the passive shape that nobody searches for: they may be off all the same."""
        shape = self.data["wire"]["passive_shape"]
        sought = [key for one in self.unknowns for key in one.keys]
        found = []
        for k, piece in enumerate(shape):
            key: Key = ("wire", "passive_shape", k, "bend")
            if "bend" in piece and not any(key[: len(other)] == other for other in sought):
                found.append(
                    Unknown(
                        f"bend, piece {k + 1}", (key,), Unit("deg"), -180.0, 180.0, (), None, None, 0.0, -1
                    )
                )
        return tuple(found)

    @property
    def sha256(self) -> str:
        """Fingerprint of the target file's text."""
        return sha256(self.text.encode("utf-8")).hexdigest()

    def puts(self, values: Sequence[float]) -> list[tuple[Key, object]]:
        """What ``values``, one for each unknown, put into the case."""
        return [put for one, value in zip(self.unknowns, values, strict=True) for put in one.puts(value)]

    def case_with(self, puts: Sequence[tuple[Key, object]]) -> Case:
        """The case with other values at some keys.  Raises CaseFileError."""
        return read_case(with_values(self.data, puts), self.lines, self.case.source_text, self.case.path)


def with_values(data: Mapping[str, Any], puts: Sequence[tuple[Key, object]]) -> Any:
    """Tables with other values at some keys."""
    from cases.study.keys import with_value

    changed: Any = data
    for key, value in puts:
        changed = with_value(changed, key, value)
    return changed


def load_target(path: str | Path) -> Target:
    """Read and check a target file and the case it names.

    Raises CaseFileError with all problems of the target file at once, or with those of the case file.
    """
    path = Path(path)
    text = file_text(path)
    data = parsed_toml(text, path)
    findings = Findings(key_lines(text))
    top = Table(findings, (), data)
    top.only("title", "note", "case", "search", "unknown", "wanted", "limits", "bending_error")
    title = top.text("title", "a title", '"The V-bend that leaves one end without a couple"')
    top.text("note", "a note", '"..."', required=False)
    case = _case(top, path)
    base = None if case is None else parsed_toml(case.source_text, case.path)
    unknowns = read_unknowns(top, base)
    wanted = read_wanted(top, case)
    limits = read_limits(top, case)
    search = _search(top)
    angle, length = _bending_error(top)
    combinations = math.prod(len(one.values) for one in unknowns if one.listed)
    if combinations > MOST_COMBINATIONS:
        what = f"the lists make {combinations} combinations, each a search of its own"
        top.problem("unknown", what, f"shorten them to {MOST_COMBINATIONS} at most")
    if findings.problems or case is None or base is None or title is None:
        _refuse(path, findings)
    assert case is not None and base is not None and title is not None
    target = Target(
        title, path, text, base, key_lines(case.source_text), case, tuple(unknowns), tuple(wanted), limits, search,
        angle, length,
    )  # fmt: skip
    _check_elastic_end(top, case)
    if not findings.problems:
        _values_make_cases(top, target)
    if findings.problems:
        _refuse(path, findings)
    return replace(target, warnings=tuple(str(warning) for warning in findings.warnings))


def _refuse(path: Path, findings: Findings) -> None:
    problems = sorted(findings.problems, key=lambda problem: (problem.line or 0, problem.key))
    raise CaseFileError(path, problems, [str(warning) for warning in findings.warnings])


def _case(top: Table, path: Path) -> Case | None:
    """The case that the target names, which must be sound as it stands."""
    name = top.text("case", "the name of a case file, from the target's folder", '"case.toml"')
    if name is None:
        return None
    file = path.parent / name
    if not file.is_file():
        where = f"write its path from the folder of the target file ({path.parent})"
        top.problem("case", f"there is no file {name}", where)
        return None
    return parse_case(file_text(file), file)


def _check_elastic_end(top: Table, case: Case) -> None:
    """What is wanted is looked for at the end of the way."""
    if case.bench is not None:
        top.problem(
            "case", "the case ends in a bench test, back where it began", "take the [bench] table out"
        )
    if any(stage.follow is not None for stage in case.stages):
        what = "in the case teeth follow their loads, so that its end depends on the way"
        top.problem("case", what, "take the stage with follow out")


def _search(top: Table) -> Search:
    usual = Search()
    table = top.table("search", "the search", "{ starts = 8, seed = 1 }", required=False)
    if table is None:
        return usual
    table.only("starts", "seed", "evaluations", "keep")
    return Search(
        table.integer("starts", "the number of starts", usual.starts, 1, MOST_STARTS),
        table.integer("seed", "the seed of the starts", usual.seed, 0, 2**63 - 1),
        table.integer("evaluations", "the number of evaluations", usual.evaluations, 2, MOST_EVALUATIONS),
        table.integer("keep", "how many candidates become case files", usual.keep, 0, 100),
    )


def _bending_error(top: Table) -> tuple[float, float]:
    """rad and mm; 1 deg and 0.1 mm unless given (common practice, no source)."""
    usual = math.radians(1.0), 0.1
    table = top.table(
        "bending_error", "the bending error", '{ angle = "1 deg", length = "0.1 mm" }', required=False
    )
    if table is None:
        return usual
    table.only("angle", "length")
    angle = table.quantity("angle", "angle", "what a bend may be off", "positive", False, usual[0])
    length = table.quantity("length", "length", "what a length may be off", "positive", False, usual[1])
    return angle or usual[0], length or usual[1]


def _trials(unknowns: Sequence[Unknown]) -> Iterator[tuple[int | None, float]]:
    """What is tried: the middle of all, then each bound and each listed value beside the others' middle."""
    yield None, 0.0
    for k, one in enumerate(unknowns):
        edges = [float(j) for j in range(len(one.values))] if one.listed else [one.least, one.most]
        yield from ((k, value) for value in edges if value != one.middle)


def _values_make_cases(top: Table, target: Target) -> None:
    """Write down what the case reader says; a wire that does not fit is for the search to find out."""
    middles = [one.middle for one in target.unknowns]
    for only, value in _trials(target.unknowns):
        values = list(middles)
        if only is not None:
            values[only] = value
        try:
            target.case_with(target.puts(values))
        except CaseFileError as error:
            wrong = [problem for problem in error.problems if DOES_NOT_FIT not in problem.message]
        else:
            continue
        for problem in wrong:
            at = only if only is not None else _whose(target.unknowns, problem.key)
            given = "the middle of every unknown"
            where: Key = ("unknown",)
            if at is not None:
                one = target.unknowns[at]
                where = ("unknown", one.place, "values" if one.listed else "key")
                if only is not None:
                    given = f"{one.name} = {one.shown(value)}"
            message = f"with {given} the case has a problem at {problem.key}: {problem.message}"
            top.findings.problem(where, message, problem.remedy)
        if wrong:
            return


def _whose(unknowns: Sequence[Unknown], told: str) -> int | None:
    """The unknown whose key a problem of the case names."""
    for k, one in enumerate(unknowns):
        keys = [*one.keys, *([one.against] if one.against else [])]
        if told in [key_text(key) for key in keys]:
            return k
    return None


def start_of(target: Target) -> list[float] | None:
    """The case's own values of the unknowns between bounds, where all of them lie within."""
    starts = [one.start for one in target.free]
    return (
        None if any(value is None for value in starts) else [value for value in starts if value is not None]
    )


def bend_value(target: Target, bend: Unknown, puts: Sequence[tuple[Key, object]]) -> float:
    """A bend of the case with some values put, deg."""
    from cases import units

    value = value_at(with_values(target.data, puts), bend.keys[0])
    return math.degrees(units.parse(value, "angle"))

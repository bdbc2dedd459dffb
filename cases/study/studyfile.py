"""From a study file (TOML) to a ``Study``, or to every problem it has, each with its line and what to do.

Nothing is solved here, but the case is read with the middle of every key, and with every single value of the lists: a
wrong path, a wrong unit or a wrong word is then told at once and not in row 1700.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cases.casefile import file_text, parse_case, parsed_toml
from cases.checks import DOES_NOT_FIT
from cases.errors import CaseFileError
from cases.reader import Findings, Table, nearest
from cases.study.names import Varied, output_columns
from cases.study.quantities import Cell
from cases.study.read_vary import read_varied
from cases.study.sampling import (
    DESIGNS,
    INDICES,
    LATIN,
    SOBOL,
    Inputs,
    correlated,
    inputs,
    rows_of_design,
    unit_sample,
)
from cases.study.solve import Base
from cases.toml_lines import Key, key_lines
from fem.torsion import KEPT_SOLUTIONS

Array = NDArray[np.float64]

MOST_ROWS = 2000
"""More rows than this need --yes: about two minutes of a small case on one core."""
MOST_EVER = 1_000_000
MANY_SECTIONS = 500
"""From so many rows on a table of torsion constants pays, where more sections are drawn than ``fem.torsion`` keeps: it
costs about 5 s, and each row without it 15 ms."""
COMPUTE = ("forces", "play")


@dataclass(frozen=True, slots=True)
class Study:
    """A study that has been found good."""

    title: str
    path: Path
    text: str
    base: Base
    varied: tuple[Varied, ...]
    """First the grid keys, then the sampled keys, each as the file has them."""
    design: str | None
    """None where nothing is sampled."""
    count: int
    seed: int
    correlation: Array | None
    """(keys, keys) of the normal variables behind the sampled keys; None where all are independent."""
    answer: str | None
    """The column that the figures show; None: the moment that spreads most."""
    warnings: tuple[str, ...] = ()

    @property
    def grid(self) -> tuple[Varied, ...]:
        """The keys that run over a grid or a list."""
        return tuple(one for one in self.varied if one.distribution is None)

    @property
    def sampled(self) -> tuple[Varied, ...]:
        """The keys that are drawn."""
        return tuple(one for one in self.varied if one.distribution is not None)

    @property
    def rows(self) -> int:
        """How many rows it has."""
        rows = 1 if self.design is None else rows_of_design(self.design, self.count, len(self.sampled))
        for one in self.grid:
            rows *= len(one.values)
        return rows

    @property
    def sha256(self) -> str:
        """Fingerprint of the study file's text."""
        return sha256(self.text.encode("utf-8")).hexdigest()

    def inputs(self) -> Inputs:
        """The values of every row, in the order of ``varied``."""
        sample = None
        if self.design is not None:
            sample = unit_sample(self.design, self.count, len(self.sampled), self.seed)
            if self.correlation is not None:
                sample = correlated(sample, self.correlation)
        drawn = [one.distribution for one in self.sampled if one.distribution is not None]
        return inputs([one.values for one in self.grid], drawn, sample, any(one.led for one in self.grid))

    def puts(self, values: Sequence[Cell], led: bool = True) -> list[tuple[Key, object]]:
        """What one row puts into the case: every key with its value as a case file has it; without ``led`` all but
        the key through which its sample is led."""
        return [
            (key, one.unit.written(value))
            for one, value in zip(self.varied, values, strict=True)
            if led or not one.led
            for key in one.keys
        ]


def load_study(path: str | Path, yes: bool = False) -> Study:
    """Read and check a study file and the case it names; ``yes``: any number of rows up to a million will do.

    Raises CaseFileError with all problems of the study file at once, or with those of the case file.
    """
    path = Path(path)
    text = file_text(path)
    findings = Findings(key_lines_of(text, path))
    top = Table(findings, (), parsed_toml(text, path))
    top.only("title", "note", "case", "compute", "stress", "answer", "sample", "vary", "correlation")
    title = top.text("title", "a title", '"Torque with tolerances of slot and wire"')
    top.text("note", "a note", '"..."', required=False)
    base = _base(top, path)
    varied = read_varied(top, None if base is None else base.data)
    # the led key last: its rows follow each other
    grid = sorted((one for one in varied if one.distribution is None), key=lambda one: one.led)
    sampled = [one for one in varied if one.distribution is not None]
    vary = top.data.get("vary")
    tables = [one for one in vary if isinstance(one, dict)] if isinstance(vary, list) else []
    drawn = any("distribution" in one for one in tables)
    design, count, seed = _sample(top, drawn)
    correlation = _correlation(top, sampled, design)
    answer = top.text("answer", "a column of the table", '"moment_molar_tube_third_nmm"', required=False)
    if base is not None and answer is not None:
        known = output_columns(base)
        if answer not in known:
            near = nearest(answer, known)
            told = f"columns: {', '.join(known)}"
            top.problem(
                "answer", f'no column is called "{answer}"', f'did you mean "{near}"?' if near else told
            )
    if findings.problems or base is None or title is None:
        _refuse(path, findings)
    assert base is not None and title is not None
    study = Study(title, path, text, base, (*grid, *sampled), design, count, seed, correlation, answer)
    _few_enough(top, study, yes)
    if not findings.problems:
        _values_make_cases(top, study)
    if findings.problems:
        _refuse(path, findings)
    warnings = tuple(str(warning) for warning in findings.warnings)
    base = replace(base, tabled=_many_sections(study), led=_led(study))
    return replace(study, base=base, warnings=warnings)


def _led(study: Study) -> tuple[tuple[tuple[Key, object], ...], ...]:
    """What every value of the led key puts into the case."""
    return tuple(
        tuple((key, one.unit.written(value)) for key in one.keys)
        for one in study.varied
        if one.led
        for value in one.values
    )


def key_lines_of(text: str, path: Path) -> dict[Key, int]:
    """Where the keys of a TOML file stand; raises CaseFileError where it is none."""
    parsed_toml(text, path)
    return key_lines(text)


def _many_sections(study: Study) -> bool:
    """Whether torsion constants come from the table; a study that is resumed must decide alike."""
    drawn = any(key[:2] == ("wire", "section") for one in study.sampled for key in one.keys)
    if not drawn or study.design is None:
        return False
    sections = rows_of_design(study.design, study.count, len(study.sampled))
    return sections > KEPT_SOLUTIONS and study.rows >= MANY_SECTIONS


def _refuse(path: Path, findings: Findings) -> None:
    problems = sorted(findings.problems, key=lambda problem: (problem.line or 0, problem.key))
    raise CaseFileError(path, problems, [str(warning) for warning in findings.warnings])


def _base(top: Table, path: Path) -> Base | None:
    """The case that the study names, which must be sound as it stands."""
    name = top.text("case", "the name of a case file, from the study's folder", '"case.toml"')
    compute = top.choice("compute", "what is computed", COMPUTE, required=False) or COMPUTE[0]
    if name is None:
        return None
    file = path.parent / name
    if not file.is_file():
        top.problem(
            "case",
            f"there is no file {name}",
            f"write its path from the folder of the study file ({path.parent})",
        )
        return None
    text = file_text(file)
    case = parse_case(text, file)
    names = tuple(spec.name for spec in case.attachments)
    slots = tuple(spec.name for spec in case.attachments if spec.attachment.has_slot)
    if compute == "play" and not slots:
        top.problem("compute", "the case has no slot, so there is no play", 'write compute = "forces"')
    lines = key_lines(text)
    forces = compute == COMPUTE[0]
    stress = top.flag("stress")
    if stress and not forces:
        top.problem(
            "stress", "without forces there is no stress", 'leave it out, or write compute = "forces"'
        )
    data = parsed_toml(text, file)
    return Base(data, lines, text, file, case.data_files, names, slots, forces, False, stress and forces)


def _sample(top: Table, needed: bool) -> tuple[str | None, int, int]:
    """Design, count and seed; no design where nothing is drawn."""
    table = top.table("sample", "the sample", '{ design = "latin hypercube", count = 200, seed = 1 }', needed)
    if table is None:
        return None, 0, 0
    if not needed:
        top.problem("sample", "no key has a distribution, so there is nothing to draw",
                    "leave [sample] out, or give a [[vary]] a distribution")  # fmt: skip
        return None, 0, 0
    table.only("design", "count", "seed")
    design = table.choice("design", "a design", DESIGNS, required=False) or LATIN
    for name, what in (("count", "how many are drawn"), ("seed", "the seed of the sample")):
        if not table.has(name):
            table.problem(name, f"{what} is missing", f"add {name} = {200 if name == 'count' else 1}")
    count = table.integer("count", "how many are drawn", 2, 2, MOST_EVER)
    seed = table.integer("seed", "the seed of the sample", 0, 0, 2**63 - 1)
    if design in (SOBOL, INDICES) and count & (count - 1):
        below = 1 << (count.bit_length() - 1)
        table.problem("count", f"a Sobol sequence is even only in powers of two, got {count}",
                      f"write {below} or {2 * below}")  # fmt: skip
    return design, count, seed


def _correlation(top: Table, sampled: Sequence[Varied], design: str | None) -> Array | None:
    """The correlation matrix of the sampled keys; None where nothing is said of any."""
    if not top.has("correlation"):
        return None
    tables = top.tables(
        "correlation",
        "correlation",
        '[[correlation]] between = ["wire height", "wire depth"], coefficient = 0.5',
    )
    if design == INDICES:
        top.problem("correlation", "Sobol indices are those of independent keys",
                    'leave the correlation out, or write design = "latin hypercube"')  # fmt: skip
    names = [one.name for one in sampled]
    matrix = np.eye(len(names))
    for table in tables or []:
        table.only("between", "coefficient")
        value = table.number("coefficient", "a coefficient of correlation", "0.5")
        pair = table.data.get("between")
        if not (isinstance(pair, list) and len(pair) == 2 and all(isinstance(one, str) for one in pair)):
            table.problem("between", "expected the names of two sampled keys", 'write between = ["a", "b"]')
            continue
        unknown = [one for one in pair if one not in names]
        for one in unknown:
            near = nearest(one, names)
            known = f"sampled keys: {', '.join(names)}"
            table.problem(
                "between", f'no sampled key is called "{one}"', f'did you mean "{near}"?' if near else known
            )
        if unknown or value is None:
            continue
        i, j = (names.index(one) for one in pair)
        if i == j or matrix[i, j]:
            table.problem(
                "between", "a key with itself, or a pair that stands above already", "name each pair once"
            )
        elif not -1.0 < value < 1.0:
            table.problem("coefficient", f"it must lie between -1 and 1, got {value:g}",
                          "for keys that are one, give both paths to one [[vary]]: key = [...]")  # fmt: skip
        else:
            matrix[i, j] = matrix[j, i] = value
    least = float(np.linalg.eigvalsh(matrix).min()) if names else 1.0
    if least < -1e-12:
        top.problem("correlation", f"no three keys can be correlated so: the matrix has an eigenvalue of {least:.3g}",
                    "bring the coefficients nearer to zero")  # fmt: skip
    return matrix


def _few_enough(top: Table, study: Study, yes: bool) -> None:
    most = MOST_EVER if yes else MOST_ROWS
    if study.rows <= most:
        return
    parts = [str(len(one.values)) for one in study.grid]
    if study.design is not None:
        parts.append(str(rows_of_design(study.design, study.count, len(study.sampled))))
    what = f"{' x '.join(parts)} = {study.rows} rows" if len(parts) > 1 else f"{study.rows} rows"
    remedy = "take fewer values or a smaller count" + ("" if yes else ", or add --yes if it is meant")
    where = "sample" if study.design is not None else "vary"
    findings = top.findings
    findings.problem(
        (where, "count") if where == "sample" else (where,), f"{what} are more than {most}", remedy
    )


def _values_make_cases(top: Table, study: Study) -> None:
    """Read the case with the middle of every key, and with every value of each list beside the others' middle."""
    middles = [one.middle for one in study.varied]
    told = _problems(top, study, middles, None)
    for k, one in enumerate(study.varied):
        options = one.values or (one.distribution.values if one.distribution is not None else ())
        for value in options:
            if not told and value != middles[k]:
                told = _problems(top, study, [*middles[:k], value, *middles[k + 1 :]], k)


def _problems(top: Table, study: Study, values: Sequence[Cell], only: int | None) -> bool:
    """Write down what the case reader says of one row; a wire that does not fit is an answer, not a problem."""
    try:
        study.base.case(study.puts(values))
    except CaseFileError as error:
        wrong = [problem for problem in error.problems if DOES_NOT_FIT not in problem.message]
    else:
        return False
    for problem in wrong:
        at = only
        for k, one in enumerate(study.varied):
            if at is None and problem.key in one.told:
                at = k
        where: Key = ("vary",)
        if at is not None:
            one = study.varied[at]
            where = ("vary", one.place, "values" if one.way == "values" else "key")
        given = "the middle of every key" if only is None else study.varied[only].shown(values[only])
        message = f"with {given} the case has a problem at {problem.key}: {problem.message}"
        top.findings.problem(where, message, problem.remedy)
    return bool(wrong)

"""From a case file (TOML) to a ``Case``, or to every problem it has, each with its line and what to do.

The checks are plain code on the parsed tables: half of them compare parts of the case with each other or name
a unit slip, which a schema library would leave to hand-written validators anyway, and it starts in no time.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from cases.alloy_checks import check_alloy
from cases.checks import check_together
from cases.data_files import DataFiles
from cases.errors import CaseFileError, Problem
from cases.read_attachments import ReadAttachment, read_attachment
from cases.read_joints import number_of, read_joints, read_wires
from cases.read_ligation import read_friction
from cases.read_stages import MOST_INCREMENTS, check_order, read_bench, read_stages, read_tie_in
from cases.read_teeth import check_teeth, one_body_a_tooth
from cases.read_wire import ReadWire
from cases.reader import Findings, Table
from cases.schema import MOUTH, AnalysisSpec, AttachmentSpec, Case
from cases.toml_lines import Key, key_lines
from cases.tooth_table import along_the_wire, read_tooth_table

LIBRARY = Path(__file__).parent / "library"

NO_ATTACHMENT = (
    'add at least one: [[attachment]] name = "molar tube", kind = "tube", '
    'slot = { height = "0.022 in", depth = "0.028 in", width = "4 mm" }, '
    'position = ["0 mm", "0 mm", "0 mm"], at = "2 mm"'
)


def shipped_cases() -> tuple[Path, ...]:
    """The cases that come with the program, sorted by name."""
    return tuple(sorted(path for path in LIBRARY.glob("*.toml") if path.name != "materials.toml"))


def load_case(path: str | Path) -> Case:
    """Read and check a case file.

    Raises CaseFileError with all problems at once; with one problem where the file cannot be read or is no
    TOML.
    """
    path = Path(path)
    return parse_case(file_text(path), path)


def parse_case(text: str, path: Path) -> Case:
    """Check a case file's text; ``path`` is named in errors and kept, and files it names lie in its folder."""
    return read_case(parsed_toml(text, path), key_lines(text), text, path)


def parsed_toml(text: str, path: Path) -> dict[str, Any]:
    """The tables of a TOML file; raises CaseFileError with line and remedy where it is none."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseFileError(path, [_malformed(str(error), text)]) from error


def read_case(data: Mapping[str, Any], lines: dict[Key, int], text: str, path: Path) -> Case:
    """Check tables that have been parsed, as ``parse_case`` does; a study puts its values into them.

    ``lines`` says where each key stands, ``text`` is kept with the case.
    """
    findings = Findings(lines)
    files = DataFiles(path.parent)
    top = Table(findings, (), data)
    top.only("title", "note", "tooth_table", "wire", "attachment", "joint", "analysis", "stage", "bench")
    title = top.text("title", "a title", '"Uprighting a molar"')
    note = top.text("note", "a note", '"..."', required=False)
    wires = read_wires(top, files)
    shapes = [wire.passive_shape for wire in wires]
    tables = _attachment_tables(top)
    own = [_on_its_wire(table, wires) for table in tables]
    seats = [wire.seated_in for wire in wires]
    first = [item for item in own if item.wire == 0]
    rows = read_tooth_table(top, files, shapes[0] if shapes else None, seats[0] if seats else None, first)
    attachments = along_the_wire(first, rows)
    attachments += sorted((item for item in own if item.wire), key=lambda item: item.wire)
    joints = read_joints(top, wires, attachments)
    if wires:
        check_together(wires, attachments)
    names = [item.name for item in attachments if item.name is not None]
    analysis = _analysis(top, names, [joint.name for joint in joints], seats)
    stages = read_stages(top, names)
    for wire in wires:
        check_alloy(top, wire, analysis, stages)
    bench = read_bench(top, names, files)
    check_teeth(attachments, stages, bench)
    check_order(top, stages, bench, [item.spec for item in attachments])
    friction = [read_friction(wire.table, 0.0) for wire in wires]
    specs = one_body_a_tooth(
        [
            _with_friction(item, friction[item.wire])
            for item in attachments
            if item.spec is not None and friction
        ]
    )
    warnings = tuple(str(warning) for warning in sorted(findings.warnings, key=_by_line))
    if findings.problems:
        raise CaseFileError(path, sorted(findings.problems, key=_by_line), warnings)
    # Without a problem everything has been read; mypy cannot see that.
    read = [wire.spec for wire in wires if wire.spec is not None]
    assert title is not None and read and len(read) == len(wires) and len(specs) == len(attachments)
    return Case(
        title, read[0], specs, analysis, text, path, warnings, note, files.read(), stages, bench,
        tuple(read[1:]), joints,
    )  # fmt: skip


def _on_its_wire(table: Table, wires: Sequence[ReadWire]) -> ReadAttachment:
    """An attachment, read with the wire that it holds."""
    number = number_of(table, "wire", wires)
    shape = None if number is None or not wires else wires[number].passive_shape
    return read_attachment(table, shape, number=number or 0)


def _with_friction(item: ReadAttachment, friction: float) -> AttachmentSpec:
    """An attachment with the wire's coefficient of friction, where it has none of its own."""
    assert item.spec is not None
    attachment = item.spec.attachment
    if item.table.has("friction") or not (attachment.has_slot or attachment.is_edge):
        return item.spec
    return replace(item.spec, attachment=replace(attachment, friction=friction))


def file_text(path: Path) -> str:
    """The file's text; a byte-order mark at its start is dropped.  Raises CaseFileError where it cannot be read."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        problem = Problem("", None, "there is no such file", "check the path")
    except IsADirectoryError:
        problem = Problem("", None, "this is a folder", "give a case file, like case.toml")
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        problem = Problem("", line, "this is not UTF-8 text", "save the file as UTF-8")
    except OSError as error:
        problem = Problem(
            "", None, f"it cannot be read: {error.strerror}", "check the path and its permissions"
        )
    raise CaseFileError(path, [problem])


def _malformed(message: str, text: str) -> Problem:
    """The one problem of a file that is no TOML; tomllib names line and column, or the end of the file."""
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    what = re.sub(r"\s*\(at [^)]*\)\s*$", "", message)
    remedy = "mend the TOML there: text needs quotes, each key stands once, brackets and braces are closed"
    if found:
        return Problem("", int(found[1]), f"not a TOML file: {what} (column {found[2]})", remedy)
    last = len(text.rstrip().splitlines()) or 1
    return Problem("", last, f"not a TOML file: {what} (at the end of the file)", remedy)


def _analysis(
    top: Table, names: Sequence[str], joints: Sequence[str], seats: Sequence[str | None]
) -> AnalysisSpec:
    table = top.table("analysis", "the analysis", "{ increments = 10 }", required=False)
    if table is None:
        return AnalysisSpec()
    table.only("increments", "tie_in", "snap", "temperature")
    increments = table.integer(
        "increments", "the number of increments", AnalysisSpec().increments, 1, MOST_INCREMENTS
    )
    warm = table.quantity(
        "temperature", "temperature", "the wire's temperature", required=False, default=MOUTH
    )
    tie_in, snap = read_tie_in(table, names, joints, seats), table.flag("snap")
    return AnalysisSpec(increments, tie_in, snap, MOUTH if warm is None else warm)


def _attachment_tables(top: Table) -> list[Table]:
    if isinstance(top.data.get("attachment"), dict):
        top.problem(
            "attachment", "attachments are a list", "write [[attachment]] with double brackets, once for each"
        )
        return [Table(top.findings, ("attachment",), top.data["attachment"])]
    if top.has("tooth_table") and not top.has("attachment"):
        return []
    return top.tables("attachment", "attachment", NO_ATTACHMENT) or []


def _by_line(problem: Problem) -> tuple[int, str]:
    return (problem.line or 0, problem.key)

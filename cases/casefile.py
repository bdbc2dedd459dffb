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
from cases.read_ligation import read_friction
from cases.read_stages import MOST_INCREMENTS, check_order, read_bench, read_stages, read_tie_in
from cases.read_teeth import check_teeth
from cases.read_wire import read_wire
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
    top.only("title", "note", "tooth_table", "wire", "attachment", "analysis", "stage", "bench")
    title = top.text("title", "a title", '"Uprighting a molar"')
    note = top.text("note", "a note", '"..."', required=False)
    wire_table = top.table(
        "wire", "the wire", "a [wire] table with material, section, passive_shape and seated_in"
    )
    wire = read_wire(wire_table, files) if wire_table is not None else None
    shape = None if wire is None else wire.passive_shape
    tables = _attachment_tables(top)
    own = [read_attachment(table, shape) for table in tables]
    seat = None if wire is None else wire.seated_in
    rows = read_tooth_table(top, files, shape, seat, own)
    attachments = along_the_wire(own, rows)
    if wire is not None:
        check_together(wire, attachments)
    names = [item.name for item in attachments if item.name is not None]
    analysis = _analysis(top, names, seat)
    stages = read_stages(top, names)
    if wire is not None:
        check_alloy(top, wire, analysis, stages)
    bench = read_bench(top, names, files)
    check_teeth(attachments, stages, bench)
    check_order(top, stages, bench, [item.spec for item in attachments])
    friction = 0.0 if wire_table is None else read_friction(wire_table, 0.0)
    specs = tuple(_with_friction(item, friction) for item in attachments if item.spec is not None)
    warnings = tuple(str(warning) for warning in sorted(findings.warnings, key=_by_line))
    if findings.problems:
        raise CaseFileError(path, sorted(findings.problems, key=_by_line), warnings)
    # Without a problem everything has been read; mypy cannot see that.
    assert title is not None and wire is not None and wire.spec is not None and len(specs) == len(attachments)
    return Case(title, wire.spec, specs, analysis, text, path, warnings, note, files.read(), stages, bench)


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


def _analysis(top: Table, names: Sequence[str], seat: str | None) -> AnalysisSpec:
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
    tie_in, snap = read_tie_in(table, names, seat), table.flag("snap")
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

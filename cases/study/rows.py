"""The table of rows on disk, as it grows: a row stands there as soon as it and all before it are known.

While a study runs its rows lie in ``rows.partial.csv``, always a beginning of the whole table; with the last row the
file becomes ``rows.csv``.  So whatever ends a study, the same command goes on behind the last whole row, and what
stands at the end does not depend on how often it was interrupted or by how many it was solved.  ``study.json`` says
whose rows they are: rows of another study, another case or another program are never mixed with them.
"""

from __future__ import annotations

import contextlib
import csv
import fcntl
import io
import json
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from cases.errors import OutputError
from cases.files import ANOTHER, write_whole

PARTIAL, WHOLE, MANIFEST = "rows.partial.csv", "rows.csv", "study.json"


@dataclass(frozen=True, slots=True)
class Rows:
    """The table in ``folder``, open for its next row."""

    folder: Path
    standing: int
    """Rows that stood there when it was opened."""
    whole: bool
    """Whether all stood there."""
    file: IO[bytes] | None

    def append(self, cells: Sequence[str | float | int | bool | None]) -> None:
        """Write the next row: at once, so that nothing is lost with the process.  Raises OutputError."""
        assert self.file is not None
        try:
            self.file.write(line_of(cells))
            self.file.flush()
        except OSError as error:
            what = f"{self.folder / PARTIAL} cannot be written further: {error.strerror}"
            raise OutputError(
                f"{what}; the rows so far stand: make room, and give the same command again"
            ) from error

    def finish(self) -> Path:
        """The table is whole; gives its path."""
        path = self.folder / WHOLE
        if self.file is not None:
            os.fsync(self.file.fileno())
            self.file.close()
            os.replace(self.folder / PARTIAL, path)
        return path


def line_of(cells: Sequence[str | float | int | bool | None]) -> bytes:
    """One line of the table: numbers with all their digits, nothing where there is none."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow([cell_text(cell) for cell in cells])
    return text.getvalue().encode("utf-8")


def cell_text(cell: str | float | int | bool | None) -> str:
    """A cell as it stands in the file, on one line."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    return " ".join(cell.split()) if isinstance(cell, str) else repr(cell)


@contextlib.contextmanager
def open_rows(
    folder: Path, columns: Sequence[str], count: int, manifest: Mapping[str, Any]
) -> Iterator[Rows]:
    """The table of ``count`` rows in ``folder``, made where it is not there, else behind its last whole row.

    Raises OutputError where the folder cannot be written, holds another study, or another process is writing there.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(folder, os.O_RDONLY)
    except OSError as error:
        raise OutputError(
            f"the output folder {folder} cannot be written: {error.strerror}; {ANOTHER}"
        ) from error
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise OutputError(
                f"another study is writing into {folder} now; wait for it, or {ANOTHER}"
            ) from None
        whole = (folder / WHOLE).exists()
        _same_study(folder, manifest)
        if whole:
            yield Rows(folder, count, True, None)
            return
        head = line_of(columns)
        standing, end = _whole_rows(folder / PARTIAL, head, len(columns), count)
        try:
            file = (folder / PARTIAL).open("r+b" if end else "w+b")
        except OSError as error:
            raise OutputError(f"{folder / PARTIAL} cannot be written: {error.strerror}; {ANOTHER}") from error
        with file:
            file.truncate(end)
            file.seek(end)
            if not end:
                file.write(head)
                file.flush()
            yield Rows(folder, standing, False, file)
    finally:
        os.close(handle)  # which lets the lock go; so does the end of the process


def _same_study(folder: Path, manifest: Mapping[str, Any]) -> None:
    """Write down whose rows these are, or refuse those of another."""
    path = folder / MANIFEST
    wanted = json.loads(json.dumps(manifest))
    if not path.exists():
        for name in (PARTIAL, WHOLE):
            if (folder / name).exists():
                raise OutputError(f"{folder} has {name} of something else, without {MANIFEST}; {ANOTHER}")
        text = json.dumps(wanted, indent=2, ensure_ascii=False) + "\n"
        write_whole(folder, {MANIFEST: lambda where: where.write_text(text, encoding="utf-8")})
        return
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise OutputError(f"{path} cannot be read ({error}); {ANOTHER}") from error
    if found != wanted:
        there = found if isinstance(found, dict) else {}
        other = " and ".join(name.replace("_", " ") for name in wanted if there.get(name) != wanted[name])
        raise OutputError(
            f"{folder} holds rows of a study that differs in its {other or 'form'}; they are not mixed: {ANOTHER}, or "
            "delete that one"
        )


def _whole_rows(path: Path, head: bytes, columns: int, most: int) -> tuple[int, int]:
    """How many whole rows stand in a file, one after the other from the first, and where the last of them ends."""
    if not path.exists():
        return 0, 0
    standing, end = 0, 0
    with path.open("rb") as file:
        if file.readline() != head:
            return 0, 0
        end = len(head)
        for line in file:
            try:
                cells = next(csv.reader([line.decode("utf-8")]))
            except (UnicodeDecodeError, csv.Error, StopIteration):
                break
            if (
                not line.endswith(b"\n")
                or len(cells) != columns
                or cells[0] != str(standing + 1)
                or standing == most
            ):
                break
            standing, end = standing + 1, end + len(line)
    return standing, end

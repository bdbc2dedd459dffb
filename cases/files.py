"""Files that appear whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from pathlib import Path
from uuid import uuid4

from cases.errors import OutputError

ANOTHER = "choose another folder with --out"

Writer = Callable[[Path], object]
"""Writes one file at the path it gets."""


def write_whole(folder: Path, writers: Mapping[str, Writer], remove: Sequence[str] = ()) -> tuple[Path, ...]:
    """Write every file into a hidden folder, and only then put them in place.

    Whatever goes wrong while they are being written leaves ``folder`` as it was.  ``remove`` names files to
    take away at the end.
    """
    with _staging(folder) as stage:
        for name, write in writers.items():
            write(stage / name)
        try:
            if folder.exists():
                for name in writers:
                    os.replace(stage / name, folder / name)
                for name in remove:
                    (folder / name).unlink(missing_ok=True)
            else:
                stage.rename(folder)
        except OSError as error:
            raise OutputError(
                f"the files cannot be put into {folder}: {error.strerror}; {ANOTHER}"
            ) from error
    return tuple(folder / name for name in writers)


def left_by_others(folder: Path, names: Collection[str], kind: Callable[[str], bool]) -> list[str]:
    """Files in ``folder`` of a ``kind`` that a run makes, but this one does not: beside new ones they would
    deceive."""
    if not folder.is_dir():
        return []
    present = (path.name for path in folder.iterdir())
    return sorted(name for name in present if name not in names and kind(name))


@contextlib.contextmanager
def _staging(folder: Path) -> Iterator[Path]:
    """An empty hidden folder on the disk of ``folder``: inside it where it exists, else beside it.

    It is removed at the end, and so are parents made for it that stay empty.
    """
    made: list[Path] = []
    folder = folder.absolute()
    try:
        if folder.exists() and not folder.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, "it is a file", str(folder))
        for parent in reversed(folder.parents):
            if not parent.exists():
                parent.mkdir()
                made.append(parent)
        stage = (folder if folder.exists() else folder.parent) / f".wireslot-{uuid4().hex}.partial"
        stage.mkdir()
    except OSError as error:
        _remove(made)
        raise OutputError(
            f"the output folder {folder} cannot be written: {error.strerror}; {ANOTHER}"
        ) from error
    try:
        yield stage
    finally:  # Ctrl-C too must leave nothing behind
        shutil.rmtree(stage, ignore_errors=True)
        _remove(made)


def _remove(made: Sequence[Path]) -> None:
    """Remove the folders that are empty, the innermost first."""
    for parent in reversed(made):
        with contextlib.suppress(OSError):
            parent.rmdir()


def check_writable(folder: Path) -> None:
    """Raise OutputError unless files can be put into ``folder`` (existing or not); leaves no trace.

    It tries: permission bits say nothing about a read-only disk, and nothing at all to the superuser.
    """
    with _staging(folder) as stage:
        try:
            stage.joinpath("trial").write_text("", encoding="utf-8")
        except OSError as error:
            raise OutputError(
                f"the output folder {folder} cannot be written: {error.strerror}; {ANOTHER}"
            ) from error

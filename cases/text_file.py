"""One text file at a path the user gives, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from cases.errors import OutputError
from cases.files import write_whole


def write_text(path: Path, text: str) -> Path:
    """Write one file, whole or not at all; folders on the way are made.  Raises OutputError where that fails."""
    try:
        write_whole(path.parent, {path.name: lambda staged: staged.write_text(text, encoding="utf-8")})
    except (OutputError, OSError) as error:
        cause = error.__cause__ if isinstance(error, OutputError) else error
        reason = cause.strerror if isinstance(cause, OSError) and cause.strerror else str(error)
        raise OutputError(f"{path} cannot be written: {reason}; give another file name or folder") from error
    return path

"""The files beside a case file that it draws from: tables and shapes."""

from __future__ import annotations

from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from cases.reader import Table
from cases.schema import DataFile


@dataclass(frozen=True, slots=True)
class DataFiles:
    """Reads files named from a case file, relative to its folder, and remembers which."""

    folder: Path
    found: dict[str, DataFile] = field(default_factory=dict)
    """Those read so far, by the name the case gives them."""
    within: list[str] = field(default_factory=list)
    """Shape files that are being read just now, the outermost first."""

    def text(self, table: Table, key: str, name: str) -> str | None:
        """The file's text; None with a problem at ``key`` of ``table`` where it cannot be read.

        A byte-order mark at its start is dropped.
        """
        path = self.folder / name
        content = b""
        try:
            content = path.read_bytes()
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = content[: error.start].count(b"\n") + 1
            table.problem(key, f"{name} line {line}: this is not UTF-8 text", "save the file as UTF-8")
            return None
        except FileNotFoundError:
            remedy = f"put it there, or write its path from the folder of the case file ({self.folder})"
            if "\\" in name or not name.isprintable():
                # TOML takes "\t" for a tab.
                remedy = 'write "/" between folders, on every system: in quotes a "\\" means something else'
            table.problem(key, f"there is no file {name}", remedy)
            return None
        except (OSError, ValueError) as error:
            what = error.strerror if isinstance(error, OSError) else str(error)
            table.problem(key, f"{name} cannot be read: {what}", "check the path and its permissions")
            return None
        if path == Path(name):
            what = f"{name} is named by its whole path, which holds on this machine only"
            table.warning(key, what, "put it beside the case file, and name it from there")
        self.found[name] = DataFile(name, sha256(content).hexdigest())
        return text

    def read(self) -> tuple[DataFile, ...]:
        """All files read so far, sorted by name."""
        return tuple(self.found[name] for name in sorted(self.found))

"""What can go wrong on the user's side, as one tree::

    WireslotError              carries the exit code of the command line
    |-- CaseFileError      2   the case file: every problem at once
    |-- OptionsError       2   options of a command, every problem at once (in play_options)
    |-- OutputError        2   a folder or file that cannot be written
    `-- NotFiniteError     1   a result that is not a number: a defect of ours, never written

No equilibrium (exit code 3) is ``fem.status.NoEquilibrium``: it belongs to the mechanics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar


class WireslotError(Exception):
    """An error with a sentence for the user."""

    exit_code: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong (or, as a warning, doubtful) in a case file."""

    key: str
    """Where: "attachment 2: slot.height", counted from 1 as people do; empty for the file as a whole."""
    line: int | None
    """Line of the file, from 1; None where there is no such line."""
    message: str
    """What was expected and what was given."""
    remedy: str
    """What to do about it."""

    def __str__(self) -> str:
        """One line: ``line 5, wire.section.height: message; remedy``."""
        place = ", ".join(part for part in (f"line {self.line}" if self.line else "", self.key) if part)
        return f"{place}: {self.message}; {self.remedy}" if place else f"{self.message}; {self.remedy}"


class CaseFileError(WireslotError):
    """A case file not to be used: ``problems`` holds all that was found, ``warnings`` what is doubtful."""

    exit_code: ClassVar[int] = 2

    def __init__(self, path: Path, problems: Sequence[Problem], warnings: Sequence[str] = ()) -> None:
        self.path = path
        self.problems = tuple(problems)
        self.warnings = tuple(warnings)
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        lines = [f"{path}: {count}", *(f"  {problem}" for problem in self.problems)]
        lines += [f"  warning: {warning}" for warning in self.warnings]
        super().__init__("\n".join(lines))


class OutputError(WireslotError):
    """A folder or file that cannot be written."""

    exit_code: ClassVar[int] = 2


class NotFiniteError(WireslotError):
    """A result holds NaN or infinity; ``field`` names where."""

    exit_code: ClassVar[int] = 1

    def __init__(self, field: str, value: float) -> None:
        self.field = field
        super().__init__(
            f"the result {field} is {value}, not a number: nothing was written; please report this case"
        )

"""How a run shows that it goes on: a bar for each stage on a terminal, one line an increment in a log."""

from __future__ import annotations

from types import TracebackType
from typing import TYPE_CHECKING

from cases.results import ACTIVATION

if TYPE_CHECKING:
    from rich.console import Console

    from cases.results import IncrementResult


class IncrementLog:
    """Called with each accepted increment; in a ``with`` block, so that the bar ends cleanly, Ctrl-C too."""

    def __init__(self, console: Console) -> None:
        from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

        self._console = console
        self._count = 0
        self._bar = Progress(
            TextColumn("{task.fields[stage]}", markup=False),
            BarColumn(),
            TaskProgressColumn(),
            TextColumn("{task.description}"),
            TimeElapsedColumn(),
            console=console,
            transient=True,
        )
        self._task = self._bar.add_task("", total=1.0, stage=ACTIVATION)

    def __enter__(self) -> IncrementLog:
        if self._console.is_terminal:
            self._bar.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._console.is_terminal:
            self._bar.stop()

    def __call__(self, increment: IncrementResult) -> None:
        """One more increment is done."""
        self._count += 1
        words = f"increment {self._count}, {increment.iterations} iterations"
        if self._console.is_terminal:
            self._bar.update(
                self._task, completed=increment.activation, description=words, stage=increment.stage
            )
        else:
            percent = f"{100.0 * increment.activation:.0f} %"
            stage = increment.stage
            share = f"{percent} of the activation" if stage == ACTIVATION else f"{stage}: {percent}"
            line = f"{words}, {share}, residual {increment.residual_n:.1e} N"
            self._console.print(line, highlight=False, markup=False, soft_wrap=True)

"""All pictures of a result, and the numbers behind each, as files.  Which they are: ``cases.show.names``.

The line figures need no renderer; the scene, ``wire.png``, does.  Nothing is drawn, and the graphics library of the
scene is not loaded, before a writer is called.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path

from cases.files import Writer, left_by_others, write_whole
from cases.results import RunResult
from cases.show.activation_figure import activation_table, draw_activation
from cases.show.bench_figure import draw_bench, figure_table
from cases.show.closed_form import ReferenceCurve
from cases.show.loads import views_table
from cases.show.names import ACTIVATION, BENCH, DATA, FORMATS, SCENE, SCENE_LOADS, SLOTS, VIEWS, is_picture
from cases.show.sheet import Sheet, save
from cases.show.slot_figure import draw_slots
from cases.show.slot_view import slot_table, slot_views
from cases.show.tables import Table
from cases.show.views_figure import draw_views

SLOTS_PER_SHEET = 4


def figure_writers(result: RunResult, references: Sequence[ReferenceCurve] = ()) -> Mapping[str, Writer]:
    """By file name, what writes each line figure (PNG and SVG) and its numbers (CSV).

    Nothing is drawn before a writer is called; a figure is drawn once for both its formats.
    """
    out: dict[str, Writer] = {}

    def add(stem: str, draw: Callable[[], Sheet], table: Callable[[], Table]) -> None:
        sheet = cache(draw)
        for suffix in FORMATS:
            out[stem + suffix] = lambda path: save(sheet(), result, path)
        out[stem + DATA] = lambda path: table().write(path)

    views = slot_views(result)
    pages = [views[i : i + SLOTS_PER_SHEET] for i in range(0, len(views), SLOTS_PER_SHEET)]
    for number, page in enumerate(pages, start=1):
        stem = SLOTS if len(pages) == 1 else f"{SLOTS}-{number}"
        add(stem, lambda page=page: draw_slots(result, page), lambda page=page: slot_table(page))  # type: ignore[misc]
    add(VIEWS, lambda: draw_views(result), lambda: views_table(result))
    if result.increments:
        add(
            ACTIVATION,
            lambda: draw_activation(result, references),
            lambda: activation_table(result, references),
        )
    bench = result.bench
    if bench is not None:
        add(BENCH, lambda: draw_bench(result, bench), lambda: figure_table(bench))
    return out


def scene_writers(result: RunResult) -> Mapping[str, Writer]:
    """The scene and the numbers of its arrows; those of the wire itself are in wire.csv."""

    def draw(path: Path) -> Path:
        from cases.show.scene import draw_scene

        return draw_scene(result, path)

    return {
        SCENE: draw,
        SCENE_LOADS: lambda path: loads_table(result).write(path),
    }


def picture_writers(result: RunResult, references: Sequence[ReferenceCurve] = ()) -> Mapping[str, Writer]:
    """By file name, what writes each picture of a result and its numbers: line figures first, then the scene.

    ``references`` are handbook formulas to draw beside the path (``closed_form.closed_forms`` of the case)."""
    return {**figure_writers(result, references), **scene_writers(result)}


def draw_all(result: RunResult, folder: Path, references: Sequence[ReferenceCurve] = ()) -> tuple[Path, ...]:
    """Write all pictures of ``result`` into ``folder`` and give their paths; pictures of an earlier run that
    this one does not have are removed.

    The line figures are in place before the scene is tried: where this machine has no renderer, PictureError
    is raised with them written.
    """
    figures = figure_writers(result, references)
    scene = scene_writers(result)
    written = write_whole(folder, figures, remove=left_by_others(folder, {*figures, *scene}, is_picture))
    return written + write_whole(folder, scene)


def draw_chosen(
    result: RunResult, folder: Path, names: Mapping[str, str], references: Sequence[ReferenceCurve] = ()
) -> tuple[Path, ...]:
    """Write some pictures under other names, for a report or a page: ``names`` maps a picture's own name, such as
    "wire.png" or "slots.svg", to the file it becomes in ``folder``.

    Raises KeyError, naming all there are, for a picture that this result does not have.
    """
    writers = picture_writers(result, references)
    for name in names:
        if name not in writers:
            raise KeyError(f"no picture called {name!r}; there are: {', '.join(sorted(writers))}")
    return write_whole(folder, {new: writers[name] for name, new in names.items()})


def loads_table(result: RunResult) -> Table:
    """Force and moment on every tooth, in world axes, as the scene's arrows show them."""
    columns = ["attachment", "tooth", *(f"{axis}_mm" for axis in "xyz"), *(f"force_{axis}_n" for axis in "xyz"),
               *(f"moment_{axis}_nmm" for axis in "xyz")]  # fmt: skip
    rows = tuple(
        (item.name, item.tooth or "", *item.moment_about_mm, *item.force_n, *item.moment_nmm)
        for item in result.attachments
    )
    return Table(tuple(columns), rows)

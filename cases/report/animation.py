"""``wireslot animate``: the engagement as an animated picture, from what a run has stored or from a fresh solve."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.spatial import KDTree

from cases.casefile import load_case
from cases.commands import DONE, NO_EQUILIBRIUM, tell_files
from cases.files import Writer, check_writable, write_whole
from cases.frames import frames_of, read_frames
from cases.report.figure import FigureError
from cases.report.stored import read_result
from cases.run import Run
from cases.schema import Case
from cases.show.animation import Film, Pixels, film_of, film_table, film_words, pictures
from cases.summary import warning_lines

if TYPE_CHECKING:
    from rich.console import Console

SECONDS, SHORTEST_MS, LONGEST_MS = 5.0, 80, 450
"""How long the way takes, and how long one picture stands at least and at most."""
FIRST_MS, LAST_MS = 1000, 2500
"""How long the first and the last picture stand."""
COLOURS = 256
WHITE = 0xFFFFFF


def animate(arguments: argparse.Namespace, console: Console, solve: Callable[[Case], Run | None]) -> int:
    """The command: one animated picture in two formats, its numbers, and its words."""
    case = load_case(arguments.case)
    folder: Path = arguments.out or Path(".")
    check_writable(folder)
    for line in warning_lines(case.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    if arguments.results is not None:
        result = read_result(arguments.results, case)
        frames = read_frames(arguments.results, case, result)
    else:
        run = solve(case)
        if run is None:
            return NO_EQUILIBRIUM
        result, frames = run.result, frames_of(run)
    try:
        film = film_of(result, frames, arguments.view, arguments.attachment)
    except ValueError as error:
        raise FigureError(f"no animation of the view {arguments.view}: {error}") from error
    written = write_whole(folder, film_writers(film, f"animation-{arguments.view}"))
    console.print("In words, for who cannot see it", style="bold")
    console.print(film_words(film), markup=False, highlight=False)
    tell_files(written, console)
    return DONE


def film_writers(film: Film, stem: str) -> Mapping[str, Writer]:
    """By file name, what writes the animation as GIF and as WebP, and its numbers as CSV; drawn once."""
    drawn: list[Pixels] = []

    def images() -> list[Image.Image]:
        if not drawn:
            try:
                drawn.extend(pictures(film))
            except ValueError as error:
                raise FigureError(
                    f"the view {film.view} has no room for its texts in an animation: {error}"
                ) from error
        return [Image.fromarray(one) for one in drawn]

    def gif(path: Path) -> None:
        first, *others = _in_few_colours(images())
        first.save(path, format="GIF", save_all=True, append_images=others, duration=durations(len(others) + 1), loop=0,
                   optimize=False, comment=film_words(film).encode("utf-8"))  # fmt: skip

    def webp(path: Path) -> None:
        first, *others = images()
        first.save(path, format="WEBP", save_all=True, append_images=others, duration=durations(len(others) + 1),
                   loop=0, lossless=True, quality=60, method=3)  # fmt: skip

    return {f"{stem}.gif": gif, f"{stem}.webp": webp, f"{stem}.csv": film_table(film).write}


def durations(count: int) -> list[int]:
    """How long each of so many pictures stands, ms."""
    each = min(max(round(1000.0 * SECONDS / max(count - 1, 1)), SHORTEST_MS), LONGEST_MS)
    return [FIRST_MS, *[each] * (count - 2), LAST_MS][-count:] if count > 1 else [LAST_MS]


def _in_few_colours(images: Sequence[Image.Image]) -> list[Image.Image]:
    """All pictures with one palette, the colours that are most frequent in all of them, so that nothing flickers; every
    other colour becomes the nearest of these."""
    packed = [_packed(np.asarray(one)) for one in images]
    # Nearly all is white, which is the first of the palette and need not be sorted.
    inked = [np.flatnonzero(one != WHITE) for one in packed]
    found = [
        np.unique(one[here], return_inverse=True, return_counts=True)
        for one, here in zip(packed, inked, strict=True)
    ]
    colours, first = np.unique(np.concatenate([one[0] for one in found]), return_inverse=True)
    counts = np.bincount(first, weights=np.concatenate([one[2] for one in found]))
    # Of equally frequent ones the darker: the same pictures have the same palette.
    kept = _parts(np.concatenate(([WHITE], colours[np.lexsort((colours, -counts))][: COLOURS - 1])))
    tree = KDTree(kept)
    out = []
    for image, here, (own, inverse, _) in zip(images, inked, found, strict=True):
        indices = np.zeros(image.height * image.width, dtype=np.uint8)
        indices[here] = tree.query(_parts(own))[1].astype(np.uint8)[inverse]
        flat = Image.fromarray(indices.reshape(image.height, image.width))
        flat.putpalette(kept.ravel().tolist())
        out.append(flat)
    return out


def _packed(pixels: Pixels) -> NDArray[np.int64]:
    """Every colour as one number, (height * width,)."""
    red, green, blue = np.moveaxis(pixels.astype(np.int64), 2, 0)
    return np.asarray((red << 16) | (green << 8) | blue).ravel()


def _parts(packed: NDArray[np.int64]) -> NDArray[np.int64]:
    """(n, 3): red, green and blue of such numbers."""
    return np.column_stack((packed >> 16, (packed >> 8) & 255, packed & 255))

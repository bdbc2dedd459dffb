"""What ``wireslot scene`` does, from its arguments to an exit code."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from cases.casefile import load_case
from cases.commands import DEFECT, DONE, NO_EQUILIBRIUM, say, tell_files, wants_traceback
from cases.errors import WireslotError
from cases.files import Writer, check_writable, write_whole
from cases.report.alternatives import scene_words
from cases.report.stored import read_result
from cases.results import RunResult
from cases.schema import Case
from cases.show.errors import PictureError
from cases.show.look import Cut, Look
from cases.summary import warning_lines

if TYPE_CHECKING:
    from rich.console import Console

PAGE = "scene.html"


class SceneError(WireslotError):
    """A scene that this result does not have, or that has no room."""

    exit_code = 2


def scene(arguments: argparse.Namespace, console: Console, solve: Callable[[Case], RunResult | None]) -> int:
    """``wireslot scene``: stored results are read, else the case is solved; then the scene is drawn or shown."""
    case = load_case(arguments.case)
    look = look_of(arguments, case)
    folder: Path = arguments.out or Path(".")
    if arguments.window:
        refuse_without_screen()
    else:
        check_writable(folder)
    for line in warning_lines(case.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    result = solve(case) if arguments.results is None else read_result(arguments.results, case)
    if result is None:
        return NO_EQUILIBRIUM
    try:
        if arguments.window:
            from cases.show.window import show

            show(result, look, arguments.size)
            return DONE
        written = write_whole(folder, scene_writers(result, look, arguments.size, arguments.page))
    except PictureError as error:
        say(str(error))
        if wants_traceback():
            raise
        return DEFECT
    except ValueError as error:
        raise SceneError(f"the scene has no room for its texts ({error}); a larger one: --size 4k") from error
    console.print("In words, for who cannot see it", style="bold")
    console.print(scene_words(result), markup=False, highlight=False)
    tell_files(written, console)
    return DONE


def look_of(arguments: argparse.Namespace, case: Case) -> Look:
    """What the arguments ask for.  Raises SceneError for an attachment that is not there."""
    names = [item.name for item in case.attachments]
    if arguments.attachment is not None and arguments.attachment not in names:
        raise SceneError(
            f"no attachment called {arguments.attachment!r}; there are: {', '.join(names)}; "
            "give one of them with --attachment"
        )
    own: Cut = "facial" if arguments.view == "oblique" else arguments.view
    cut: Cut | None = None if arguments.whole else arguments.cut or own
    return Look(arguments.view, cut, arguments.attachment, arguments.teeth, arguments.transparent)


def scene_writers(
    result: RunResult, look: Look, size: tuple[int, int] | None, page: bool
) -> dict[str, Writer]:
    """By file name, what writes the picture, and the page where it is wanted."""
    from cases.show.scene import draw_scene

    def write_page(path: Path) -> None:
        from cases.scenes.page import page_text

        path.write_text(page_text(result, look, scene_words(result)), encoding="utf-8")

    out: dict[str, Writer] = {picture_name(look): lambda path: draw_scene(result, path, size, look)}
    if page:
        out[PAGE] = write_page
    return out


def picture_name(look: Look) -> str:
    """Of a scene: scene-facial.png, scene-facial-molar-tube.png."""
    own = re.sub(r"\W+", "-", look.attachment or "").strip("-").lower()
    return "-".join(filter(None, ("scene", look.view, own))) + ".png"


def refuse_without_screen() -> None:
    """Raises SceneError where there is no screen for a window."""
    from cases.show.window import screen_there

    if not screen_there():
        raise SceneError(
            "there is no screen here for a window (neither DISPLAY nor WAYLAND_DISPLAY is set); leave out --window "
            "for a picture, or take --page for a file that any browser turns"
        )

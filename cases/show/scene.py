"""One picture of an engaged wire: the wire in its slots, and what each tooth feels.

``draw_scene`` looks for a renderer first and loads the graphics libraries only then.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cases.results import RunResult
from cases.show.errors import PictureError
from cases.show.renderer import window_class

REMEDY = (
    "install Mesa's off-screen renderer (Debian, Ubuntu: apt-get install libegl1 libgl1-mesa-dri libgl1 "
    "libxrender1), or run 'bash scripts/setup', or go without with --no-pictures"
)
# The renderer VTK takes is chosen by this variable.
_VTK_CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"
SMALLEST = (800, 600)


def draw_scene(result: RunResult, path: Path, size: tuple[int, int] | None = None) -> Path:
    """Draw ``result`` into the PNG file ``path``, ``size`` pixels, and return the path.

    Without a size the picture is 1600 pixels wide and as high as the appliance needs.

    The file appears whole or not at all.  Raises PictureError where this machine cannot draw or the folder
    cannot be written, ValueError for a picture smaller than ``SMALLEST``.
    """
    if size is not None and (size[0] < SMALLEST[0] or size[1] < SMALLEST[1]):
        raise ValueError(
            f"a picture needs {SMALLEST[0]} x {SMALLEST[1]} pixels or more: got {size[0]} x {size[1]}"
        )
    window = window_class()
    if window is None:
        raise PictureError(f"no picture: nothing on this machine draws without a display; {REMEDY}")
    with _vtk_window(window):
        try:
            from cases.show.drawing import compose
        except ImportError as error:
            raise PictureError(
                f"no picture: the graphics libraries do not load ({error}); {REMEDY}"
            ) from error
        plotter = compose(result, size)
        # The suffix tells the writer the format, so the passing name keeps it.
        passing = path.with_name(f".{path.stem}.{os.getpid()}{path.suffix}")
        try:
            plotter.screenshot(str(passing))
            os.replace(passing, path)
        except OSError as error:
            raise PictureError(f"no picture: {path} cannot be written ({error.strerror or error})") from error
        finally:
            passing.unlink(missing_ok=True)
            plotter.close()
    return path


@contextmanager
def _vtk_window(name: str) -> Iterator[None]:
    """Make VTK draw with the window class ``name``; a choice the user has made, or an empty one, stands."""
    if not name or _VTK_CHOICE in os.environ:
        yield
        return
    os.environ[_VTK_CHOICE] = name
    try:
        yield
    finally:
        del os.environ[_VTK_CHOICE]

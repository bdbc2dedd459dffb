"""One picture of an engaged wire: the wire in its slots, and what each tooth feels.

``draw_scene`` looks for a renderer first and loads the graphics libraries only then.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cases.results import RunResult
from cases.show.errors import PictureError
from cases.show.look import Look
from cases.show.renderer import window_class

REMEDY = (
    "install Mesa's off-screen renderer (Debian, Ubuntu: apt-get install libegl1 libgl1-mesa-dri libgl1 "
    "libxrender1), or run 'bash scripts/setup', or go without with --no-pictures"
)
# The renderer VTK takes is chosen by this variable.
_VTK_CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"
SMALLEST = (800, 600)


def draw_scene(
    result: RunResult,
    path: Path,
    size: tuple[int, int] | None = None,
    look: Look = Look(),  # noqa: B008
) -> Path:
    """Draw ``result`` into the PNG file ``path``, ``size`` pixels, as ``look`` says, and return the path.

    Without a size the picture is 1600 pixels wide and as high as the appliance needs.

    The file appears whole or not at all.  Raises PictureError where this machine cannot draw or the folder
    cannot be written, ValueError for a picture smaller than ``SMALLEST``, KeyError for an attachment that is not there.
    """
    pixels = scene_image(result, size, look)
    from matplotlib.image import imsave

    # The suffix tells the writer the format, so the passing name keeps it.
    passing = path.with_name(f".{path.stem}.{os.getpid()}{path.suffix}")
    try:
        imsave(passing, pixels, format="png", metadata={"Software": "wireslot"})
        os.replace(passing, path)
    except OSError as error:
        raise PictureError(f"no picture: {path} cannot be written ({error.strerror or error})") from error
    finally:
        passing.unlink(missing_ok=True)
    return path


def scene_image(
    result: RunResult,
    size: tuple[int, int] | None = None,
    look: Look = Look(),  # noqa: B008
) -> NDArray[np.uint8]:
    """The same as pixels (height, width, 3), or (height, width, 4) without a background: one frame of an animation.

    Raises the same errors, but for those of files."""
    if size is not None and (size[0] < SMALLEST[0] or size[1] < SMALLEST[1]):
        raise ValueError(
            f"a picture needs {SMALLEST[0]} x {SMALLEST[1]} pixels or more: got {size[0]} x {size[1]}"
        )
    with off_screen():
        from cases.show.drawing import compose

        plotter = compose(result, size, look)
        try:
            pixels = plotter.screenshot(return_img=True, transparent_background=look.transparent)
        finally:
            plotter.close()
    return np.ascontiguousarray(pixels)


@contextmanager
def off_screen() -> Iterator[None]:
    """While it lasts, what is drawn is drawn without a display.  Raises PictureError where nothing can be drawn so."""
    window = window_class()
    if window is None:
        raise PictureError(f"no picture: nothing on this machine draws without a display; {REMEDY}")
    with _vtk_window(window):
        try:
            import cases.show.drawing  # noqa: F401
        except ImportError as error:
            raise PictureError(
                f"no picture: the graphics libraries do not load ({error}); {REMEDY}"
            ) from error
        yield


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

"""A scene in a window that can be turned, where there is a screen."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.results import RunResult
from cases.show.errors import PictureError
from cases.show.look import Look
from cases.show.view import Box, View, fit

if TYPE_CHECKING:
    import pyvista as pv

    from cases.show.drawing import Scene

SIZE = (1600, 1000)
MARGIN = 150.0
"""Pixels round the appliance."""
HINT = "drag: turn   shift and drag: move   wheel: nearer or further   r: all of it   q: close"


def screen_there(environment: Mapping[str, str] | None = None) -> bool:
    """Whether a window can be opened: on Linux, whether a display is named."""
    known = os.environ if environment is None else environment
    return not sys.platform.startswith("linux") or bool(known.get("DISPLAY") or known.get("WAYLAND_DISPLAY"))


def show(result: RunResult, look: Look, size: tuple[int, int] | None = None) -> None:
    """Open the window and return once it is closed.  Texts are placed anew whenever the appliance has been turned.

    Raises PictureError where none can be opened."""
    try:
        import pyvista as pv

        from cases.show.drawing import add_part, aim, light, scene_of
        from cases.show.overlay import Font, text_at
        from cases.show.palette import GREY
        from cases.show.parts import stress_top
    except ImportError as error:
        raise PictureError(f"no window: the graphics libraries do not load ({error})") from error
    scene = scene_of(result, look, size or SIZE)
    width, height = scene.view.size
    bounds = np.array([part.mesh.bounds for part in scene.parts]).reshape(-1, 3, 2)
    corners = np.array([[b[i, k >> i & 1] for i in range(3)] for b in bounds for k in range(8)])
    everything = fit(
        corners, Box(MARGIN, MARGIN, width - MARGIN, height - MARGIN), (width, height), scene.view.axes
    )
    scene = replace(scene, view=everything)
    plotter = pv.Plotter(off_screen=False, window_size=list(scene.view.size), lighting="none")
    plotter.background_color = pv.Color("white")
    light(plotter, scene.view)
    for part in scene.parts:
        add_part(plotter, part, stress_top(scene.looked), scene.furnishing.scale)
    aim(plotter, scene.view)
    text_at(plotter, HINT, 20.0, 14.0, Font(15.0 * scene.furnishing.scale, GREY))
    texts = Texts(plotter, scene)
    texts.place()
    if plotter.iren is not None:
        plotter.iren.add_observer("StartInteractionEvent", lambda *_: texts.clear())
        plotter.iren.add_observer("EndInteractionEvent", lambda *_: texts.place())
    plotter.show(title=result.title)


class Texts:
    """Names and values beside what they belong to, as the camera stands."""

    def __init__(self, plotter: pv.Plotter, scene: Scene) -> None:
        self._plotter, self._scene = plotter, scene
        self._props: list[Any] = []

    def clear(self) -> None:
        """Take all texts away."""
        for prop in self._props:
            self._plotter.renderer.RemoveViewProp(prop)
        self._props = []

    def place(self) -> None:
        """Put all texts where they have room now; none where there is not enough for all."""
        from cases.show.drawing import draw_labels

        self.clear()
        view = view_of(self._plotter)
        room = Box(8.0, 40.0, view.size[0] - 8.0, view.size[1] - 8.0)
        own = replace(self._scene.furnishing, room=room, table=None)
        there = set(self._plotter.renderer.GetViewProps())
        with contextlib.suppress(ValueError):
            draw_labels(self._plotter, replace(self._scene, view=view, furnishing=own))
        self._props = [prop for prop in self._plotter.renderer.GetViewProps() if prop not in there]


def view_of(plotter: pv.Plotter) -> View:
    """Where the camera of a plotter looks."""
    camera = plotter.camera
    focus = np.asarray(camera.focal_point, dtype=np.float64)
    towards = np.asarray(camera.position, dtype=np.float64) - focus
    towards /= np.linalg.norm(towards)
    right = np.cross(camera.up, towards)
    right /= np.linalg.norm(right)
    axes = np.column_stack((right, np.cross(towards, right), towards))
    width, height = plotter.window_size
    return View(axes, focus, 0.5 * height / camera.parallel_scale, (width, height))

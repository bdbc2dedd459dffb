"""A scene as one file that any browser opens and turns, without a network: shapes, texts and a small program in it."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.output import CAUTION
from cases.results import RunResult
from cases.show import labels
from cases.show.faces import faces
from cases.show.look import CUTS, VIEWS, Look, looked_at
from cases.show.scene import off_screen

if TYPE_CHECKING:
    from cases.show.drawing import Scene
    from cases.show.parts import Part

POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'"
)
"""The page itself forbids every request to a network."""
SIZE = (1600, 1000)
"""Pixels of the picture whose arrows and section lines have the sizes that the page keeps."""
OF_A_CUT = ("walls", "front", "cut face", "section lines", "edges", "pressing", "wire")
"""Parts that differ with the cut."""
WHOLE, ACROSS = "whole", "mesiodistal"
CUT_WORDS = {
    "facial": "cut open from the front",
    "occlusal": "cut open from where teeth bite",
    "mesiodistal": "one cut across",
    WHOLE: "whole, seen through",
}
KEYS = (
    "Drag to turn, drag with Shift to move, wheel or pinch to come nearer. With the scene in focus: arrow keys turn, "
    "with Shift they move; + and - come nearer and go away; 1 to 4 are the views; 0 shows all of it."
)
SWITCHES = (
    ("teeth", "teeth and centres of resistance", ("tooth", "centre of resistance")),
    ("loads", "forces and moments", ("force", "moment")),
    ("passive", "passive shape", ("passive shape",)),
    ("slots", "attachments", ("walls", "front", "cut face", "section lines", "edges", "body")),
    ("texts", "values and names", ()),
)
"""Key, words, and the parts each shows or hides."""
FOLDER = Path(__file__).resolve().parent


def page_text(result: RunResult, look: Look, words: str) -> str:
    """The whole document; ``words`` say what the scene shows, for who cannot see it.

    The page shows forces and moments whole, as an oblique view does, whichever view it opens with.  Teeth are in it
    and hidden unless ``look`` shows them.  Raises PictureError where the graphics libraries do not load.
    """
    with off_screen():
        from cases.show.drawing import scene_of

        scene = scene_of(result, Look("oblique", "facial", look.attachment), SIZE)
        return _document(scene, _data(result, scene, look), words)


def _data(result: RunResult, scene: Scene, look: Look) -> dict[str, Any]:
    from cases.scenes.buffers import packed_part
    from cases.show.anchored import anchored_texts
    from cases.show.parts import pressed_walls, stress_top

    top = stress_top(scene.looked)
    texts = anchored_texts(scene.marks, pressed_walls(scene.looked), near=look.attachment is not None)
    return {
        "parts": [
            {**packed_part(part, top), "cuts": list(cuts)}
            for cuts, part in _parts_of_all_cuts(result, scene)
            if part.mesh.n_points
        ],
        "texts": [
            {
                "kind": one.kind,
                "text": one.text,
                "place": [round(float(v), 4) for v in one.place],
                "away": [round(float(v), 4) for v in one.away],
                "clear": round(one.clear, 4),
                "colour": one.colour,
            }
            for one in texts
        ],
        "views": {view: _axes(scene, view) for view in VIEWS},
        "switches": {key: list(whats) for key, _, whats in SWITCHES},
        "start": {"view": look.view, "cut": look.cut or WHOLE, "teeth": look.teeth},
    }


def _parts_of_all_cuts(result: RunResult, scene: Scene) -> Iterator[tuple[tuple[str, ...], Part]]:
    """Every part with the cuts it belongs to."""
    from cases.show.drawing import HATCH_PIXELS
    from cases.show.parts import scene_parts, tooth_parts

    for part in (*scene.parts, *tooth_parts(scene.looked)):
        if part.what not in OF_A_CUT:
            yield (*CUTS, WHOLE), part
        elif part.what == "wire":
            yield tuple(cut for cut in (*CUTS, WHOLE) if cut != ACROSS), part
    apart = HATCH_PIXELS * scene.furnishing.scale / scene.view.pixels_per_mm
    for cut in (*CUTS, None):
        look = Look("oblique", cut, scene.look.attachment)
        for part in scene_parts(looked_at(result, look), look, (), 1.0, apart):
            if part.what in OF_A_CUT and (part.what != "wire" or cut == ACROSS):
                yield (cut or WHOLE,), part


def _axes(scene: Scene, view: str) -> list[list[float]]:
    """Rows: to the right, up, towards the viewer."""
    axes = scene.looked.axes
    if view != "oblique":
        face = next(one for one in faces(scene.looked.result) if one.key == view)
        axes = np.column_stack((*face.axes, face.towards))
    return [[round(float(v), 9) for v in column] for column in axes.T]


def _document(scene: Scene, data: dict[str, Any], words: str) -> str:
    result, title = scene.looked.result, escape(scene.looked.result.title)
    where = "" if scene.looked.subject is None else f"<p>{escape(scene.looked.subject)}</p>"
    wire = escape(labels.sentence(labels.wire_text(result)))
    banner = labels.banner_text(result)
    warning = "" if banner is None else f'<p class="banner" role="alert">{escape(banner)}</p>'
    quiet = labels.quiet_text(result)
    packed = json.dumps(data, separators=(",", ":"), ensure_ascii=True).replace("</", "<\\/")
    program = (FOLDER / "viewer.js").read_text(encoding="utf-8")
    style = (FOLDER / "viewer.css").read_text(encoding="utf-8")
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<title>{title}</title>\n<link rel="icon" href="data:,">\n<style>\n{style}</style>\n</head>\n<body>\n'
        f"{warning}<header><h1>{title}</h1>{where}<p>{wire}</p>"
        f"{'' if quiet is None else f'<p><strong>{escape(quiet)}</strong></p>'}</header>\n"
        f"{_controls(scene, data)}"
        '<div id="stage">'
        f'<canvas id="scene" tabindex="0" role="img" aria-label="{escape(words)}" aria-describedby="keys"></canvas>'
        '<svg id="leaders" aria-hidden="true"></svg><div id="texts" aria-hidden="true"></div>'
        f"{_stress_scale(scene)}</div>\n"
        '<p id="failed" role="alert" hidden>This browser cannot draw the scene (it has no WebGL 2); the table below '
        "has all values.</p><noscript><p>The scene needs JavaScript, all of which is in this file; the table below "
        "has all values.</p></noscript>\n"
        f'<p id="keys">{KEYS}</p>\n'
        f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in legend_lines(scene))}</ul>\n"
        f"{_table(result)}<p>{escape(CAUTION)}</p>\n"
        f'<script type="application/json" id="data">{packed}</script>\n<script>\n{program}</script>\n</body>\n</html>\n'
    )


def legend_lines(scene: Scene) -> list[str]:
    """What arrows, marks and shapes mean, and which way the axes go."""
    from cases.show.drawing import legend_of

    x, y, z = labels.axis_words(scene.looked.result)
    return [*legend_of(scene), f"axes in the facial view: {x} to the right, {y} up, {z} towards the viewer"]


def _controls(scene: Scene, data: dict[str, Any]) -> str:
    views = "".join(
        f'<button type="button" data-view="{view}" aria-pressed="false">{number} {view}</button>'
        for number, view in enumerate(VIEWS, start=1)
    )
    cuts = "".join(f'<option value="{cut}">{words}</option>' for cut, words in CUT_WORDS.items())
    there = {part["what"] for part in data["parts"]}
    off = () if data["start"]["teeth"] else ("teeth",)
    boxes = "".join(
        f'<label><input type="checkbox" data-switch="{key}"{"" if key in off else " checked"}> {words}</label>'
        for key, words, whats in SWITCHES
        if not whats or there & set(whats)
    )
    return (
        f'<form id="controls" aria-label="What is shown"><fieldset><legend>View</legend>{views}</fieldset>'
        f'<label>Slots <select id="cut">{cuts}</select></label>{boxes}</form>\n'
    )


def _stress_scale(scene: Scene) -> str:
    """The colours of the wire, and the stress at their ends and middle."""
    if all(map(labels.unstressed, scene.looked.result.wires)):
        return ""
    from cases.show.parts import COLOURS, stress_top

    title, top = labels.stresses_of(scene.looked.wires)[0], stress_top(scene.looked)
    import pyvista as pv

    colours = ", ".join(str(pv.Color(c).hex_rgb) for c in pv.LookupTable(COLOURS, n_values=9).values[:, :3])
    step = labels.round_length(0.28 * top)
    ticks = "".join(
        f'<span style="bottom:{100.0 * k * step / top:.2f}%">{k * step:g}</span>'
        for k in range(math.floor(top / step + 1e-9) + 1)
    )
    return (
        f'<div id="stress" aria-hidden="true"><div>{escape(title)}</div>'
        f'<div class="bar" style="background:linear-gradient(to top, {colours})">{ticks}</div></div>'
    )


def _table(result: RunResult) -> str:
    rows = "".join(
        f'<tr><th scope="row">{escape(labels.name_text(item))}</th>'
        f"<td>{labels.force_text(math.hypot(*item.force_n))}</td>"
        f"<td>{labels.moment_text(math.hypot(*item.moment_nmm))}</td></tr>"
        for item in result.attachments
    )
    return (
        "<table><caption>Force and moment on every tooth, about the attachment's centre</caption><thead><tr>"
        '<th scope="col">attachment</th><th scope="col">force</th><th scope="col">moment</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>\n"
    )

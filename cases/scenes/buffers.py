"""Surfaces and lines of a scene as packed numbers that a page carries.  Numbers only.

Places are counted in 65535 steps of the part's own bounds (below 2 micrometres for an arch of 100 mm), normals in 127
steps, colours in 255.  Everything is little-endian and written in base 64.
"""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.show import shapes
from cases.show.parts import COLOURS, Part

Array = NDArray[np.float64]

STEPS = 65535


def packed_part(part: Part, top: float) -> dict[str, Any]:
    """One part as plain JSON values; ``top`` is the stress (MPa) at the upper end of the colours."""
    mesh = part.mesh if part.line is not None else _triangles(part)
    points = np.asarray(mesh.points, dtype=np.float64)
    low = points.min(axis=0)
    span = np.maximum(np.ptp(points, axis=0), 1e-9)
    places = np.round((points - low) / span * STEPS).astype("<u2")
    out: dict[str, Any] = {
        "what": part.what,
        "owner": part.owner,
        "low": _plain(low),
        "span": _plain(span),
        "opacity": part.opacity,
        "light": [part.ambient, part.diffuse],
        "points": mesh.n_points,
        "places": _text(places),
        "colour": list(pv.Color(part.colour).int_rgb),
    }
    if part.line is not None:
        out["lines"] = _text(_line_ends(mesh).astype(_index_type(mesh)))
        return out
    out["triangles"] = _text(mesh.regular_faces.astype(_index_type(mesh)))
    out["normals"] = _text(np.round(127.0 * np.asarray(mesh.point_data["Normals"])).astype("<i1"))
    if part.values is not None:
        out["colours"] = _text(_colours(part, mesh, top))
    return out


def _index_type(mesh: pv.PolyData) -> str:
    """Two bytes where they are enough, else four: whoever reads them tells by the number of points."""
    return "<u2" if mesh.n_points <= STEPS else "<u4"


def _triangles(part: Part) -> pv.PolyData:
    """The surface in triangles with a normal at every point; sharp edges stay sharp."""
    mesh: pv.PolyData = part.mesh.triangulate()
    if "Normals" in mesh.point_data and part.smooth:
        return mesh
    split: pv.PolyData = mesh.compute_normals(
        cell_normals=False, split_vertices=True, feature_angle=40.0, consistent_normals=False
    )
    return split


def _line_ends(mesh: pv.PolyData) -> NDArray[np.int64]:
    """(n, 2): both ends of every piece of every line."""
    cells, out, at = np.asarray(mesh.lines), [], 0
    while at < len(cells):
        line = cells[at + 1 : at + 1 + cells[at]]
        out.append(np.column_stack((line[:-1], line[1:])))
        at += cells[at] + 1
    return np.concatenate(out)


def _colours(part: Part, mesh: pv.PolyData, top: float) -> NDArray[np.uint8]:
    """(n, 3)."""
    values = np.asarray(mesh.point_data[str(part.values)])
    if part.values != shapes.STRESS:
        return values.astype(np.uint8)
    table = np.asarray(pv.LookupTable(COLOURS, n_values=256).values[:, :3], dtype=np.uint8)
    return np.asarray(table[np.clip(values / top * 255.0, 0.0, 255.0).round().astype(int)])


def _plain(values: Array) -> list[float]:
    return [round(float(v), 6) for v in values]


def _text(values: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(values).tobytes()).decode("ascii")

"""How far the figures of a run may be off because wire and slots are divided: a second solve on another mesh.

The other mesh has elements and distances of contact stations half as large, its stations stand between those of the
first, and its walls look at the wire where they meet it fifty times as closely.  If the errors of both meshes fall with
the size at least as fast as the size itself, the first one is off by twice the difference at most.  (Errors of smooth
wires fall faster, but a contact stands at one station or the next.)

The second solve must not cost more than the first.  Where the way does not count, it goes in three tenths of the
increments; with friction, or a material that remembers, in half of them, so that their share of the error is seen too.
Where it finds no equilibrium, it is soon given up, and a mesh twice as coarse is compared instead.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cases.build import build_model
from cases.legs import end_of_way, legs_of
from cases.results import AccuracyResult, Error, Mesh
from cases.schema import Case
from cases.words import LEAST_SHOWN, shown
from fem.model import Model, SlotWalls
from fem.path import Options, Path, engage
from fem.status import NoEquilibrium

Array = NDArray[np.float64]

# A difference between two meshes times this is no less than the error of the coarser, if halving at least halves it.
BOUND = 2.0
# Share of the usual distances within which walls of a finer mesh look where they meet the wire.
CLOSELY = 0.02
SHARE_OF_INCREMENTS, SHARE_WITH_HISTORY = 0.3, 0.5
# Share of an increment below which a finer mesh is given up: those that needed smaller ones found nothing with them
# either, in fifty times the time.
LEAST_INCREMENT = 0.3
# Percent beyond which the meshes do not tell of the same answer.
TOO_FAR = 5.0


def options_of(case: Case, level: int = 0) -> Options:
    """How the way of ``case`` is walked on a mesh halved ``level`` times; -1: twice as coarse."""
    return Options(snap=case.analysis.snap, follow_within=CLOSELY if level > 0 else 1.0)


def estimated(
    case: Case, model: Model, path: Path, level: int = 0, stations: int | None = None
) -> AccuracyResult:
    """The estimated error of what ``path`` found on ``model``, a mesh halved ``level`` times.

    Where no second solve finds an equilibrium, the answer says so."""
    here, tried, failure = mesh_of(model), [], None
    share = SHARE_WITH_HISTORY if keeps_history(model) else SHARE_OF_INCREMENTS
    # between the stations that were asked for, as between the usual ones
    more, fewer = (None, None) if stations is None else (2 * stations - 2, max(2, stations // 2))
    for other, asked, increments in ((level + 1, more, share), (level - 1, fewer, 1.0)):
        second = build_model(case, asked, other)
        tried.append(mesh_of(second))
        legs = legs_of(case, second)
        shorter = [replace(leg, increments=math.ceil(increments * leg.increments)) for leg in legs]
        options = options_of(case, other)
        if other > level:
            options = replace(
                options, least_increment=LEAST_INCREMENT / max(leg.increments for leg in shorter)
            )
        try:
            found = engage(second, options, None, shorter)
        except NoEquilibrium as error:
            failure = error
            continue
        one, two = (end_of_way(case, legs, way).snapshot for way in (path, found))
        names = list(case.held_by)
        force, moment = _error(names, one.force, two.force), _error(names, one.moment, two.moment)
        return AccuracyResult(here, tried[-1], force, moment, _words(here, tried[-1], force, moment))
    meshes = " and on ".join(map(mesh_words, tried))
    words = f"No estimate of the discretisation error: the second solve failed on {meshes}; {failure}."
    return AccuracyResult(here, tried[0], None, None, (words,))


def keeps_history(model: Model) -> bool:
    """Whether the way counts, not only where it ends."""
    rubs = any(getattr(support.restraint, "friction", 0.0) > 0.0 for support in model.supports)
    return rubs or model.fibres is not None


def mesh_of(model: Model) -> Mesh:
    """Elements, and contact stations of all slots."""
    walls = [support.restraint for support in model.supports]
    stations = sum(one.offsets.size for one in walls if isinstance(one, SlotWalls))
    return Mesh(model.nodes.size - len(model.wires), stations)


def _error(names: list[str], one: Array, two: Array) -> Error:
    """From the vectors (k, 3) on all attachments of both meshes."""
    changes = BOUND * np.linalg.norm(two - one, axis=1)
    worst = int(changes.argmax())
    change, largest = float(changes[worst]), float(np.linalg.norm(one, axis=1).max())
    # of a force that is there on one mesh only all may be wrong, and no more than all
    most = max(largest, change)
    percent = None if most < LEAST_SHOWN else 100.0 * change / most
    return Error(change, largest, percent, names[worst])


def _words(here: Mesh, there: Mesh, force: Error, moment: Error) -> tuple[str, ...]:
    words = [
        f"Discretisation error, estimated at most: of any force {_error_words(force, 'N')}; of any moment "
        f"{_error_words(moment, 'N mm')}. Twice the change from {mesh_words(here)} to {mesh_words(there)}."
    ]
    if max(force.percent or 0.0, moment.percent or 0.0) > TOO_FAR:
        words.append(
            f"The two meshes differ by more than {TOO_FAR:g} %: do not rely on these figures. `--refine 1` solves the "
            "case on finer meshes; where that does not help either, the wire may have more than one shape."
        )
    return tuple(words)


def _error_words(error: Error, unit: str) -> str:
    if error.percent is None:
        return f"less than {LEAST_SHOWN:g} {unit}"
    size = (
        f"{shown(error.change)} {unit}"
        if error.change >= LEAST_SHOWN
        else f"less than {LEAST_SHOWN:g} {unit}"
    )
    return f"{size} ({percent_words(error.percent)} of the largest, at {error.attachment})"


def percent_words(percent: float | None) -> str:
    """As people are shown it."""
    if percent is None:
        return "-"
    return "less than 0.001 %" if percent < 1e-3 else f"{percent:.2g} %"


def mesh_words(mesh: Mesh) -> str:
    """A mesh as people are told of it."""
    if not mesh.stations:
        return f"{mesh.elements} elements"
    return f"{mesh.elements} elements with {mesh.stations} contact stations"

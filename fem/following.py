"""The wire slides, the stations do not: what follows a solve so that every wall looks at the place where it meets the
wire.

Every site looks at the wire on a short rigid arm (fem.contact_kernel).  After a solve the arms are set to where the
lines meet the wire now, and where a station has moved by more than a trifle, the nodes of the mesh go along, so that
the mesh stays fine at the mouths.  Then the balance is found again.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fem.carrying_over import on_moved_nodes, on_new_mesh
from fem.contact_kernel import evaluate_sites
from fem.equilibrium import MEAN_OVER, WIDELY, Problem, course_at, keep_slip, place_arms, slip_of
from fem.hooks import hook_forces, hook_nodes, hooks_off, place_hooks
from fem.model import Model
from fem.recovery import frames_at, site_arcs
from fem.supports import SlotSites
from geometry.meshing import line_mesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# mm.  A force acts where its line is; its direction errs by the wire's curvature times what an arm is off.
PRESSING_OFF = 1e-3
# At a line that does not press the gap alone counts, which errs by curvature times half the square, and by the twist
# rate times the distance times half the wire's size.
OTHERS_OFF = 5e-3
# rad/mm by which the twist may have changed since the arms were set.  What a torque pushes the wire along errs by the
# same share of the walls' forces, times half the wire's size.
TWIST_OFF = 1e-6
TURNING_TWIST_OFF = 1e-4  # where stations take turns
TAKING_TURNS = 6  # followings after which stations may be taking turns
# A station's node stands this near to it, or within this share of the distance to the next node.
NODE_OFF = 5e-3
NODE_OFF_SHARE = 0.25
HARDLY = 1e-6  # N with which a wall presses that a wire just touches
SHARE_OF_IDLE = 0.01  # how much a wall that does not press counts in where a station stands
EXACT_OFF = 1e-10  # mm, where it must stand there exactly
# An end, a break or a held node this near serves a station too.
SERVES = 5e-3
# Two nodes may not come closer together than this share of the distance they had.
LEAST_SHARE = 0.25
# A wire that remembers is stretched within so many times the way that a station has slid, and so many elements.
STRETCHED, LEAST_STRETCHED = 4.0, 4.0
MOST_LEVELLINGS = 12
LEAST_WAY = 0.2  # share of the way to its line that a prism goes at least


def arms_off(problem: Problem, followings: int = 0, within: float = 1.0) -> Array | None:
    """How far each site's line meets the wire ahead of its prism, and each hook's point ahead of its place, (sites +
    hooks,) mm; None where all are near enough.

    After some ``followings`` neighbouring stations that take turns in pressing are near enough if they are as near as
    those that do not press.  ``within``: share of the usual distances that is near enough."""
    off, far = _sites_off(problem, followings, within)
    if not problem.hooks.support.size:
        return off if far else None
    ahead, slips = hooks_off(problem)
    return np.concatenate((off, ahead)) if far or slips else None


def _sites_off(problem: Problem, followings: int, within: float) -> tuple[Array, bool]:
    """The same for the sites, and whether any is too far off."""
    state = problem.state
    arcs, there = site_arcs(problem)
    # beyond the wire's ends there is nothing to look at
    inside = arcs.clip(*_wire_ends(problem))
    off = np.where(there, inside - (problem.model.nodes[state.touch.node] + state.touch.reach), 0.0)
    turns = followings > TAKING_TURNS
    near = OTHERS_OFF if turns else PRESSING_OFF
    presses = pressing(problem)[: off.size] > 0.0
    if (np.abs(off) > within * np.where(presses, near, OTHERS_OFF)).any():
        return off, True
    if not presses.any():
        return off, False
    node = problem.model.nodes[state.touch.node]
    over = WIDELY if turns else MEAN_OVER
    now = course_at(problem, node + state.touch.reach, node, over)[:, 0]
    twisted = np.abs(now - state.touch.course[:, 0])[presses]
    return off, bool((twisted > within * (TURNING_TWIST_OFF if turns else TWIST_OFF)).any())


def _wire_ends(problem: Problem) -> tuple[Array, Array]:
    """Arc lengths (sites,) of the ends of the wire that each site may touch."""
    return problem.model.ends_at(problem.support_arcs[problem.constraints.sites.slot])


def pressing(problem: Problem) -> Array:
    """Force (sites + hooks,) with which each site presses and each hook pulls, N."""
    state = problem.state
    sites = problem.constraints.sites.slot.size
    forces = np.bincount(problem.constraints.site_of, np.abs(state.low - state.high), minlength=sites)
    hooks = problem.hooks.support.size
    return np.concatenate((forces, hook_forces(problem))) if hooks else forces.astype(np.float64)


def relaxed(share: float, last: Array | None, off: Array) -> float:
    """Share of the way (sites,) ``off`` that prisms go, after ``share`` of the way ``last`` led here.

    Aitken's rule for vectors, which settles what swings to and fro as well as what creeps: Irons & Tuck, Int. J.
    Numer. Methods Engng 1 (1969) 275 (from memory)."""
    if last is None:
        return 1.0
    change = off - last
    size = float(change @ change)
    return min(max(-share * float(last @ change) / size, LEAST_WAY), 1.0) if size > 0.0 else 1.0


def followed(
    problem: Problem,
    way: float,
    off: Array,
    share: float,
    move_nodes: bool,
    level: bool = False,
    exactly: bool = False,
    turns: bool = False,
) -> Problem | None:
    """The same state with every prism and hook ``share`` of the way ``off`` (sites + hooks,) further along the wire,
    and with the nodes of the mesh at the stations where ``move_nodes`` and need be; ``way`` is how far the supports
    have come.  ``level``: the prisms go on until they are level with their lines on the wire as it stands.
    ``exactly``: so do the nodes of stations.  ``turns``: stations take turns, so the twist at each is taken from
    a wider place: at the mouths, where they are 0.01 mm apart, force goes from one to the next with the twist that it
    is given, and the narrow mean leads away from rest.

    None where nodes would have to go but loads hang at them, which another mesh would lose."""
    touch = problem.state.touch
    sites = touch.node.size
    arcs = problem.model.nodes[touch.node] + touch.reach + share * off[:sites]
    hooked = problem.hooks.arcs + share * off[sites:]
    slip = slip_of(problem, way) if problem.rubs else None
    moved = _with_nodes_at_stations(problem, exactly) if move_nodes else problem
    if moved is None:
        return None
    place_arms(moved, arcs, WIDELY if turns else MEAN_OVER)
    place_hooks(moved, hooked)
    if level:
        _level_arms(moved, way)
    if slip is not None:
        keep_slip(moved, way, slip)
    return moved


def _level_arms(problem: Problem, way: float) -> None:
    """Every arm goes where its line meets the wire as it stands.

    Across a tight bend the tangent leads too far and back again, so what turns round goes half as far."""
    last: Array | None = None
    step = np.ones(problem.constraints.sites.slot.size)
    for _ in range(MOST_LEVELLINGS):
        evaluate_sites(
            *problem.poses(way),
            problem.constraints.sites,
            problem.state.positions,
            problem.state.axes,
            problem.state.touch,
        )
        arcs, there = site_arcs(problem)
        at = problem.model.nodes[problem.state.touch.node] + problem.state.touch.reach
        off = np.where(there, arcs.clip(*_wire_ends(problem)) - at, 0.0)
        if np.abs(off).max(initial=0.0) <= PRESSING_OFF:
            return
        if last is not None:
            step = np.where(off * last < 0.0, 0.5 * step, step)
        last = off
        place_arms(problem, at + step * off)


def _with_nodes_at_stations(problem: Problem, exactly: bool) -> Problem | None:
    """The same state on a mesh that has a node at every station; None where loads forbid it.

    The nodes between two stations stretch evenly.  Where a bend, a held section or an end is in their way, the wire
    is meshed anew."""
    nodes, places = problem.model.nodes, station_places(problem)
    node = problem.station_nodes
    if problem.hooks.support.size:
        hooks, hooked = hook_nodes(problem, places)
        node, places = np.concatenate((node, hooks)), np.concatenate((places, hooked))
    sizes = np.full(nodes.size + 1, np.inf)
    sizes[1:-1] = nodes[1:] - nodes[:-1]
    size = np.minimum(sizes[node], sizes[node + 1])
    here = np.isfinite(places) & (node[:, None] != problem.still_nodes).all(axis=1)
    off = np.where(here, np.abs(places - nodes[node]), 0.0)
    near = EXACT_OFF if exactly else np.maximum(NODE_OFF / problem.model.fineness, NODE_OFF_SHARE * size)
    if (off <= near).all():
        return problem
    moved = _moved_nodes(problem, node[here], places[here])
    if moved is not None:
        # frames along the screws of the old elements
        return on_moved_nodes(problem, moved, *frames_at(problem, moved))
    loaded = problem.loads.dead.any() or problem.loads.follower.any()
    return None if loaded else _meshed_anew(problem, node, places)


def _slid(problem: Problem) -> Array:
    """How far (n,) mm the nodes at stations stand from where these were on the passive wire; 0 for all others."""
    out = np.zeros(problem.model.nodes.size)
    for slot in problem.constraints.slots:
        node = problem.station_nodes[slot.first_station : slot.first_station + slot.offsets.size]
        began = problem.support_arcs[slot.support] + slot.offsets
        out[node] = np.abs(problem.model.nodes[node] - began)
    return out


def station_places(problem: Problem) -> Array:
    """Arc length (stations,) where the walls of each station meet the wire, on average; nan where no wire is."""
    arcs, there = site_arcs(problem)
    places = np.full(problem.constraints.stations, np.nan)
    for slot in problem.constraints.slots:
        here = np.logical_and.reduce(slot.by_station(there), axis=1)
        begin = slot.first_station
        mean = slot.by_station(arcs) @ shares_of_walls(problem, slot, arcs)
        places[begin : begin + slot.offsets.size] = np.where(here, mean, np.nan)
    return places


def shares_of_walls(problem: Problem, slot: SlotSites, arcs: Array) -> Array:
    """By how much each wall (walls,) of a station, which meets the wire at ``arcs`` (sites,), counts in where its node
    stands.

    All alike, unless the wire crosses its slot so far askew that one presses beyond the next node, for the floor meets
    it elsewhere than the other walls: such a force bends what lies between without that the wall could see it.  Then
    walls count by what those of their kind bear in the whole slot, which keeps stations in their order."""
    forces = slot.by_station(pressing(problem)[: arcs.size])
    at = slot.by_station(arcs)
    even = np.full(at.shape[1], 1.0 / at.shape[1])
    nodes = problem.model.nodes
    node = problem.station_nodes[slot.first_station : slot.first_station + slot.offsets.size]
    near = np.minimum(np.diff(nodes, prepend=-np.inf), np.diff(nodes, append=np.inf))[node]
    beyond = np.abs(at - (at @ even)[:, None]) > near[:, None]
    if not (beyond & (forces > HARDLY)).any():
        return even
    bears = np.add.reduce(forces, axis=0)
    share = bears + SHARE_OF_IDLE * bears.max()
    out: Array = share / share.sum()
    return out


def _meshed_anew(problem: Problem, node: Integers, places: Array) -> Problem:
    """The same state on a new mesh with nodes at ``places`` (stations + hooks,), nan: where ``node`` is; the same where
    that is the mesh there is."""
    model = problem.model
    still = model.nodes[problem.still_nodes]
    wanted = np.where(np.isfinite(places), places, model.nodes[node])
    nearest = still[np.abs(still - wanted[:, None]).argmin(axis=1)]
    marks = np.where(np.abs(nearest - wanted) < SERVES, nearest, wanted)
    marks = marks.clip(*model.ends_at(model.nodes[node]))
    nodes = np.concatenate(
        [_mesh_of(model, k, np.concatenate((marks, still))) for k in range(len(model.spans))]
    )
    if nodes.size == model.nodes.size and np.abs(nodes - model.nodes).max() < PRESSING_OFF:
        return problem
    stations = problem.constraints.stations
    return on_new_mesh(problem, nodes, *frames_at(problem, nodes), wanted[:stations])


def _mesh_of(model: Model, wire: int, marks: Array) -> Array:
    """Arc lengths of a new mesh of one wire, with nodes at those of the ``marks`` (k,) that lie on it."""
    of = model.wires[wire]
    first, last = model.nodes[list(model.spans[wire])]
    own = marks[(marks >= first) & (marks <= last)] - of.begin
    nodes = line_mesh(of.shape, own, fineness=model.fineness)
    nodes = nodes[(nodes >= own.min()) & (nodes <= own.max())] + of.begin
    # sums of arc lengths round
    nodes[[0, -1]] = first, last
    return np.asarray(nodes)


def _moved_nodes(problem: Problem, index: Integers, wanted: Array) -> Array | None:
    """Nodes ``index`` moved to ``wanted``; ends, bends and held nodes stay, the rest is stretched between.

    A wire that remembers is stretched near them only: what it remembers blurs where nodes move, and most where it has
    yielded like a hinge.  None where two nodes would come too close, as when a bend slides up to a slot.
    """
    nodes = problem.model.nodes
    pinned = np.zeros(nodes.size, dtype=np.bool_)
    if problem.model.fibres is not None and index.size:
        reach = np.maximum(STRETCHED * _slid(problem)[index], LEAST_STRETCHED * np.diff(nodes).mean())
        pinned |= (np.abs(nodes[:, None] - nodes[index]) > reach).all(axis=1)
    pinned[index] = pinned[problem.still_nodes] = True
    after = nodes.copy()
    after[index] = wanted
    after[problem.still_nodes] = nodes[problem.still_nodes]
    before, after = nodes[pinned], after[pinned]
    if (after[1:] - after[:-1] < LEAST_SHARE * (before[1:] - before[:-1])).any():
        return None
    return np.interp(nodes, before, after)

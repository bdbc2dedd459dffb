"""A state carried over: to nodes that stand elsewhere, to another mesh, to other supports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Beam, State
from fem.equilibrium import Problem, nearest_nodes, place_arms, predict_at_rest, problem_of
from fem.fibre_beam import carried_over, strains_carried_over
from fem.hooks import place_hooks
from fem.supports import Constraints
from fem.workspace import empty_state

Array = NDArray[np.float64]


def on_moved_nodes(problem: Problem, nodes: Array, positions: Array, axes: Array) -> Problem:
    """The same problem on a mesh of the same numbering whose nodes stand elsewhere along the wire, at
    ``positions`` (n, 3) with ``axes`` (n, 3, 3).

    Only elements and state are new; the state carries the old one's forces and slip.  Scratch is shared; the arms are
    to be placed anew."""
    model = problem.model.on_nodes(nodes)
    old = problem.state
    before = problem.model.nodes
    state = empty_state(nodes.size, old.touch.node.size, old.low.size, old.hold_force.size, old.strains.shape)
    state.flat[:] = old.flat
    state.positions[:], state.axes[:] = positions, axes
    _copy_contacts(old, state)
    fibres = problem.beam.fibres
    if state.strains.size:
        still = before[problem.still_nodes]
        fibres = carried_over(fibres, before, nodes, still)
        state.strains[:] = strains_carried_over(old.strains, before, nodes, still)
    beam = Beam(np.diff(nodes), model.passive_screws(), model.compliances(), fibres)
    moved = replace(problem, model=model, beam=beam, state=state)
    predict_at_rest(moved)
    return moved


def on_new_mesh(
    problem: Problem,
    nodes: Array,
    positions: Array,
    axes: Array,
    station_arcs: Array,
) -> Problem:
    """The same problem on another mesh altogether, whose nodes (n,) stand at ``positions`` with ``axes``; its
    stations are at ``station_arcs`` (stations,).

    The state carries the old one's wall and hold forces and slip; the arms are to be placed anew.
    """
    made = problem_of(replace(problem.model, nodes=nodes), problem.active)
    state, old = made.state, problem.state
    state.positions[:], state.axes[:] = positions, axes
    state.slack[:], state.low[:], state.high[:] = old.slack, old.low, old.high
    state.hold_force[:] = old.hold_force
    _copy_contacts(old, state)
    beam = made.beam
    if state.strains.size:
        before = problem.model.nodes
        still = before[problem.still_nodes]
        beam = beam._replace(fibres=carried_over(problem.beam.fibres, before, nodes, still))
        state.strains[:] = strains_carried_over(old.strains, before, nodes, still)
    made = replace(
        made,
        beam=beam,
        temperatures=problem.temperatures,
        ways=problem.ways,
        deflection=problem.deflection,
        felt=problem.felt,
        station_nodes=nearest_nodes(nodes, station_arcs),
    )
    place_hooks(made, problem.hooks.arcs)
    predict_at_rest(made)
    return made


def held_by(problem: Problem, active: Sequence[bool] | None) -> Problem:
    """The same state on the same mesh, held by the ``active`` (k,) supports only, where given.

    Supports that were active keep their wall and hold forces and slip; the ways are to be set anew.
    """
    made = problem_of(problem.model, active)
    made = replace(made, beam=problem.beam, temperatures=problem.temperatures)
    old, new = problem.state, made.state
    new.positions[:], new.axes[:], new.predicted[:] = old.positions, old.axes, old.predicted
    new.strains[:] = old.strains
    was, now = problem.constraints, made.constraints
    arcs = problem.support_arcs[now.sites.slot] + now.offset
    before = problem.model.nodes[old.touch.node] + old.touch.reach
    for k in range(len(problem.model.supports)):
        from_sites, to_sites = was.sites.slot == k, now.sites.slot == k
        if not (from_sites.any() or (was.holds.frame == k).any()):
            continue
        if to_sites.any() and from_sites.any():
            arcs[to_sites] = before[from_sites]
            new.rubbing.zero[to_sites] = old.rubbing.zero[from_sites]
            new.rubbing.spot[to_sites] = old.rubbing.spot[from_sites]
            made.station_nodes[_stations(now, k)] = problem.station_nodes[_stations(was, k)]
            walls, held = to_sites[now.site_of], from_sites[was.site_of]
            for array, kept in ((new.slack, old.slack), (new.low, old.low), (new.high, old.high)):
                array[walls] = kept[held]
        if (now.holds.frame == k).any():
            new.hold_force[now.holds.frame == k] = old.hold_force[was.holds.frame == k]
    place_arms(made, arcs)
    place_hooks(made, problem.hooks.arcs)
    made.deflection[:] = problem.deflection
    made.felt[:] = problem.felt
    return made


def apart(problem: Problem) -> Problem:
    """The same problem with a state and a memory of its own; the ways are to be set anew."""
    fibres = problem.beam.fibres
    changing = ("law", "moduli", "committed", "trial", "remembers", "active", "moves")
    own = fibres._replace(**{name: getattr(fibres, name).copy() for name in changing})
    return held_by(replace(problem, beam=problem.beam._replace(fibres=own)), problem.active)


def _stations(constraints: Constraints, support: int) -> slice:
    """Numbers of a support's stations."""
    slot = next((slot for slot in constraints.slots if slot.support == support), None)
    return slice(0, 0) if slot is None else slice(slot.first_station, slot.first_station + slot.offsets.size)


def _copy_contacts(old: State, new: State) -> None:
    """What contact remembers; the frames of its prisms belong to the mesh."""
    new.rubbing.zero[:], new.rubbing.spot[:] = old.rubbing.zero, old.rubbing.spot
    new.touch.ahead[:], new.touch.there[:] = old.touch.ahead, old.touch.there

"""One step of Newton's method: forces at the state, the condensed matrix, and its solution.

Notation and equations as in equilibrium_kernel."""

from __future__ import annotations

from fem.beam_kernel import assemble_tangent, assemble_wrenches, element_screws
from fem.blocks_kernel import factorise, solve_blocks
from fem.contact_kernel import add_site_forces, add_site_stiffness, evaluate_sites
from fem.curvature_kernel import add_site_curvature
from fem.drag_kernel import add_drag, add_drag_stiffness
from fem.fibre_elements_kernel import elements
from fem.friction_kernel import (
    add_friction_forces,
    add_friction_of_normals,
    add_friction_stiffness,
    evaluate_slip,
)
from fem.holds_kernel import add_hold_curvature, add_hold_forces, evaluate_holds
from fem.joints_kernel import (
    add_joint_curvature,
    add_joint_forces,
    evaluate_joints,
    take_joint_weights,
)
from fem.links_kernel import add_link_curvature, add_links, couple_links, subtract_links
from fem.loads_kernel import add_load_curvature, add_load_turning, subtract_loads
from fem.sweeps_kernel import HOLD_WEIGHT, stiffness_scales
from fem.unsymmetric_kernel import solve_unsymmetric
from fem.walls_kernel import wall_weights
from geometry.compiled import kernel

LEAST_SHIFT = 1e-12  # of the largest stiffness: proximal term for sliding and spinning wires, leaves no force
# Of the largest stiffness: a motion that this makes stable has no stiffness to speak of, like the roll of a
# round wire; the sign of its pivot is rounding.
NEUTRAL_SHIFT = 1e-9
SMALL_FORCE = 1e-4  # of the largest: wall forces whose curvature the tangent (never the balance) leaves out


@kernel
def evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work, one_step):
    """Stress, wrenches, gaps and hold values at the state.

    work.residual receives g - loads.  ``one_step``: the elements' law makes one step from the prediction.  Returns the
    energy, and the largest force and moment of the law's last step.
    """
    positions, axes, residual = state.positions, state.axes, work.residual
    element_screws(positions, axes, work.screws)
    energy, last_force, last_moment = elements(
        work.screws, beam, state.strains, state.predicted, one_step, work.stress, work.stiffness
    )
    energy += subtract_loads(positions, axes, loads, residual)
    energy += add_links(positions, axes, loads.links, residual)
    energy += add_drag(positions, axes, work.drag, work.drag_positions, work.drag_axes, residual)
    assemble_wrenches(work.screws, work.stress, residual, work.jacobians)
    evaluate_sites(slot_position, slot_axes, sites, positions, axes, state.touch)
    evaluate_holds(
        slot_position,
        slot_axes,
        holds.node,
        holds.frame,
        holds.kind,
        positions,
        axes,
        work.hold_value,
        work.hold_gradient,
    )
    evaluate_joints(slot_position, slot_axes, holds, positions, axes, work.hold_value, work.hold_other)
    return energy, last_force, last_moment


@kernel
def balance(slot_position, slot_axes, sites, holds, state, work, rubs, right):
    """right (n, 6) = -(g - loads) + hold forces + friction; work.force (m,) = low - high.

    Returns the potential of friction for the normal forces there are."""
    low, high, residual = state.low, state.high, work.residual
    for i in range(right.shape[0]):
        for j in range(6):
            right[i, j] = -residual[i, j]
    for m in range(low.size):
        work.force[m] = low[m] - high[m]
    add_hold_forces(holds.node, work.hold_gradient, state.hold_force, right)
    add_joint_forces(holds, work.hold_other, state.hold_force, right)
    if not rubs:
        return 0.0
    evaluate_slip(slot_position, slot_axes, sites, low, high, state.touch, state.rubbing)
    return add_friction_forces(sites, state.touch, state.rubbing, right)


@kernel
def newton_system(
    beam, loads, slot_position, slot_axes, sites, holds, state, work, mu, use_predicted, rubs, scales
):  # fmt: skip
    """Assembles the condensed matrix, symmetric as long as friction is bounded by the normal forces there are, and its
    right side (work.step)."""
    diagonal, upper, step, push = work.diagonal, work.upper, work.step, work.push
    axes, gradient, node = state.axes, state.touch.gradient, state.touch.node
    for i in range(diagonal.shape[0]):
        for j in range(6):
            for k in range(6):
                diagonal[i, j, k] = 0.0
    stress = state.predicted if use_predicted else work.stress
    assemble_tangent(work.screws, work.jacobians, beam.lengths, work.stiffness, stress, diagonal, upper)
    add_load_curvature(axes, loads, diagonal)
    add_link_curvature(state.positions, axes, loads.links, diagonal)
    add_drag_stiffness(state.positions, axes, work.drag, work.drag_positions, work.drag_axes, diagonal)
    stiffness_scales(diagonal, holds.node, holds.kind, work.hold_weight, scales)
    take_joint_weights(holds.other, work.hold_weight, work.joint_weight)
    balance(slot_position, slot_axes, sites, holds, state, work, rubs, step)
    for h in range(holds.node.size):
        value = -(work.hold_weight[h] + work.joint_weight[h]) * work.hold_value[h]
        for j in range(6):
            step[holds.node[h], j] += value * work.hold_gradient[h, j]
            if holds.other[h] >= 0:
                step[holds.other[h], j] += value * work.hold_other[h, j]
    wall_weights(
        sites.half_range, sites.compliance, work.mode, work.target, state.slack, state.low, state.high,
        state.touch.gap, mu, HOLD_WEIGHT * scales[3], work.weight, push,
    )  # fmt: skip
    add_site_forces(node, sites.first, gradient, push, step)
    add_site_stiffness(node, sites.first, gradient, work.weight, diagonal)
    add_site_curvature(slot_axes, sites, state.touch, work.force, SMALL_FORCE * scales[0], diagonal)
    if rubs:
        add_friction_stiffness(sites, state.touch, state.rubbing, diagonal)
    add_hold_curvature(
        slot_axes,
        holds.node,
        holds.frame,
        holds.kind,
        state.hold_force,
        work.hold_gradient,
        work.hold_weight,
        axes,
        diagonal,
    )
    add_joint_curvature(slot_position, holds, state.hold_force, work.hold_other, diagonal)


@kernel
def _factor(loads, holds, state, work, shift):
    """Factors of the symmetric matrix, links and joints and all; returns how many pivots are not positive."""
    wrong = factorise(work.diagonal, work.upper, shift, work.factors, work.couplings)
    if work.link_right.size > 0:
        wrong -= couple_links(
            state.positions, state.axes, loads.links, holds, work.hold_gradient, work.hold_other, work.joint_weight,
            True, work.diagonal, work.upper, shift, work.factors, work.order, work.couplings, work.link_columns,
            work.link_column, work.link_small,
        )  # fmt: skip
    return wrong


@kernel
def factor_and_solve(loads, sites, holds, state, work, scales, shift, downhill, whole_friction, turning):
    """Solves for the step.  Returns the number of pivots that are not positive, neutral motions aside.

    ``downhill``: the diagonal is shifted until every pivot is positive, so that the step lowers the energy.
    ``whole_friction``: then the change of friction with the normal forces is added, which is not symmetric;
    ``turning``: so is that of loads without a potential.
    """
    diagonal, upper, factors, couplings, step = (
        work.diagonal,
        work.upper,
        work.factors,
        work.couplings,
        work.step,
    )
    relative = LEAST_SHIFT
    first = -1
    while True:
        for j in range(3):
            shift[j] = relative * scales[3]
            shift[3 + j] = relative * scales[4]
        wrong = _factor(loads, holds, state, work, shift)
        if relative <= NEUTRAL_SHIFT:
            first = wrong
        if wrong == 0 or relative > 1.0 or not downhill:
            break
        relative = max(relative * 10.0, NEUTRAL_SHIFT)
    if turning:
        add_load_turning(state.axes, loads, diagonal)
    if whole_friction:
        add_friction_of_normals(
            sites, state.touch, state.rubbing, state.low, state.high, work.push, work.weight, diagonal, step
        )
    if whole_friction or turning:
        solve_unsymmetric(diagonal, upper, shift, factors, work.order, couplings, step)
    else:
        solve_blocks(factors, couplings, step)
    if work.link_right.size > 0:
        if whole_friction or turning:
            couple_links(
                state.positions, state.axes, loads.links, holds, work.hold_gradient, work.hold_other,
                work.joint_weight, False, diagonal, upper, shift, factors, work.order, couplings, work.link_columns,
                work.link_column, work.link_small,
            )  # fmt: skip
        subtract_links(
            state.positions, state.axes, loads.links, holds, work.hold_gradient, work.hold_other, work.joint_weight,
            work.link_columns, work.link_column, work.link_small, work.link_right, step,
        )  # fmt: skip
    return first


@kernel
def unstable_pivots(
    beam, loads, slot_position, slot_axes, sites, holds, state, work, mu, rubs, scales, shift, relative
):  # fmt: skip
    """How many pivots of the matrix at the state itself are not positive after a shift of the diagonal by the
    share ``relative`` of its largest entries."""
    evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work, False)
    newton_system(
        beam, loads, slot_position, slot_axes, sites, holds, state, work, mu, False, rubs, scales
    )  # fmt: skip
    for j in range(3):
        shift[j] = relative * scales[3]
        shift[3 + j] = relative * scales[4]
    return _factor(loads, holds, state, work, shift)

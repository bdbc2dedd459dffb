"""Empty arrays for the kernels: a state, how sites touch, and scratch."""

from __future__ import annotations

import math

import numpy as np

from fem.arrays import Rubbing, State, Touch, Work


def empty_state(
    nodes: int, sites: int, walls: int, holds: int, strains: tuple[int, ...] = (0, 2, 6)
) -> State:
    """A state; all floats that a step changes lie in one array, so that a state is copied in one sweep."""
    shapes = ((nodes, 3), (nodes, 3, 3), (nodes - 1, 6), (walls,), (walls,), (walls,), (holds,), strains)
    flat = np.zeros(sum(map(math.prod, shapes)))
    views = []
    begin = 0
    for shape in shapes:
        size = math.prod(shape)
        views.append(flat[begin : begin + size].reshape(shape))
        begin += size
    positions, axes, predicted, slack, low, high, hold_force, strain = views
    return State(
        positions=positions,
        axes=axes,
        predicted=predicted,
        slack=slack,
        low=low,
        high=high,
        hold_force=hold_force,
        strains=strain,
        flat=flat,
        touch=empty_touch(sites, walls),
        rubbing=Rubbing(
            zero=np.zeros((sites, 2)),
            place=np.zeros((sites, 2)),
            spot=np.zeros((sites, 2)),
            normal=np.zeros(sites),
            along=np.zeros((sites, 6)),
            aside=np.zeros((sites, 6)),
            force=np.zeros((sites, 2)),
        ),
    )


def empty_touch(sites: int, walls: int) -> Touch:
    """Sites without arms, their frames to be evaluated."""
    turn = np.zeros((sites, 3, 3))
    turn[:] = np.eye(3)
    return Touch(
        node=np.zeros(sites, dtype=np.int64),
        arm=np.zeros((sites, 3)),
        turn=turn,
        course=np.zeros((sites, 3)),
        reach=np.zeros(sites),
        outermost=np.zeros(sites, dtype=np.int64),
        there=np.zeros(sites, dtype=np.int64),
        ahead=np.zeros(sites),
        centre=np.zeros((sites, 3)),
        axes=turn.copy(),
        edge=np.zeros((sites, 3)),
        away=np.zeros((sites, 3)),
        level=np.zeros(sites),
        gap=np.zeros(walls),
        gradient=np.zeros((walls, 6)),
    )


def workspace(nodes: int, walls: int, holds: int, columns: int) -> Work:
    """Scratch; ``columns`` are those of links and joints, see links_kernel."""
    return Work(
        screws=np.zeros((nodes - 1, 6)),
        stress=np.zeros((nodes - 1, 6)),
        stiffness=np.zeros((nodes - 1, 6, 6)),
        jacobians=np.zeros((nodes - 1, 2, 3, 3)),
        residual=np.zeros((nodes, 6)),
        diagonal=np.zeros((nodes, 6, 6)),
        upper=np.zeros((nodes - 1, 6, 6)),
        factors=np.zeros((nodes, 6, 6)),
        couplings=np.zeros((nodes - 1, 6, 6)),
        step=np.zeros((nodes, 6)),
        right=np.zeros((nodes, 6)),
        change=np.zeros(walls),
        weight=np.zeros(walls),
        force=np.zeros(walls),
        target=np.zeros(walls),
        mode=np.zeros(walls, dtype=np.int64),
        hold_value=np.zeros(holds),
        hold_gradient=np.zeros((holds, 6)),
        hold_weight=np.zeros(holds),
        hold_step=np.zeros(holds),
        hold_other=np.zeros((holds, 6)),
        joint_weight=np.zeros(holds),
        positions=np.zeros((nodes, 3)),
        axes=np.zeros((nodes, 3, 3)),
        d_slack=np.zeros(walls),
        d_low=np.zeros(walls),
        d_high=np.zeros(walls),
        push=np.zeros(walls),
        d_force=np.zeros(walls),
        drag=np.zeros(nodes),
        drag_positions=np.zeros((nodes, 3)),
        drag_axes=np.zeros((nodes, 3, 3)),
        link_columns=np.zeros((columns, nodes, 6)),
        link_column=np.zeros((nodes, 6)),
        link_small=np.zeros((columns, columns)),
        link_right=np.zeros(columns),
        order=np.zeros((nodes, 6), dtype=np.int64),
    )

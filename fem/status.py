"""How a solve can end, each with the sentence the user reads."""

from __future__ import annotations

from enum import Enum

import numpy as np
from numpy.typing import NDArray


class Status(Enum):
    """The end of an increment or of a whole path."""

    ENGAGED = "engaged: the wire is in equilibrium with its attachments"
    PASSIVE = "passive in its play: the wire floats in its slots and gives no force and no couple"
    UNSTABLE = "engaged, but the equilibrium found is unstable: a small push would make the wire snap to another shape"
    TOO_MANY_ITERATIONS = (
        "no equilibrium found: the iterations did not settle, even in the smallest increments"
    )
    DOES_NOT_FOLLOW = (
        "no equilibrium found: wherever the wire was looked at in its slots, it then slid or twisted on, even in the "
        "smallest increments"
    )
    YIELDING_SUPPORTS = (
        "no equilibrium found: supports that give way and the wire did not come to rest together, even in the smallest "
        "increments"
    )
    COMES_OUT = (
        "no equilibrium found: the wire was coming out of a slot through its front, and came to rest neither in it nor "
        "without it, even in the smallest increments"
    )
    STOPPED_NO_MORE = (
        "no equilibrium found: the wire has come out of the slot that kept it from sliding, and came to no rest "
        "without it"
    )
    NOT_FINITE = "no equilibrium found: the numbers ran out of range"

    @property
    def sentence(self) -> str:
        """What the user reads."""
        return self.value

    @property
    def converged(self) -> bool:
        """True where the result is an equilibrium."""
        return self in (Status.ENGAGED, Status.PASSIVE, Status.UNSTABLE)


class NoEquilibrium(RuntimeError):
    """No equilibrium was found.

    Attributes: ``status``; ``activation`` of the last accepted increment (0 to 1); ``accepted``, the accepted
    increments; ``history`` (k, 4), the largest force (N), moment (N mm), constraint error (mm) and barrier
    product (N mm) left over at each iteration of the failed increment."""

    def __init__(
        self, status: Status, activation: float, accepted: tuple[object, ...], history: NDArray[np.float64]
    ) -> None:
        super().__init__(
            f"{status.sentence}; the last equilibrium is at {100.0 * activation:.0f} % of the activation"
        )
        self.status = status
        self.activation = activation
        self.accepted = accepted
        self.history = history

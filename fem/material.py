"""Materials of wires."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LinearElastic:
    """Isotropic and linear: Young's modulus in MPa, Poisson's ratio, yield stress in MPa or None.

    Raises ValueError for values that no stable isotropic material has.
    """

    name: str
    youngs_modulus: float
    poisson: float
    yield_stress: float | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.youngs_modulus) and self.youngs_modulus > 0.0):
            raise ValueError(
                f"{self.name}: Young's modulus must be finite and above zero: got {self.youngs_modulus!r} MPa"
            )
        if not -1.0 < self.poisson <= 0.5:
            raise ValueError(
                f"{self.name}: Poisson's ratio must lie between -1 and 0.5: got {self.poisson!r}"
            )
        if self.yield_stress is not None and not (
            math.isfinite(self.yield_stress) and self.yield_stress > 0.0
        ):
            raise ValueError(
                f"{self.name}: the yield stress must be finite and above zero: got {self.yield_stress!r} MPa"
            )

    @property
    def shear_modulus(self) -> float:
        """G = E / (2 (1 + nu)), MPa."""
        return self.youngs_modulus / (2.0 * (1.0 + self.poisson))

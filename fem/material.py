"""Materials of wires."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.checks import LARGEST, number, shown, text

SOFTEST = 1e-9  # MPa: of Young's and the shear modulus


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
        text("the name of a material", self.name)
        above_zero = "finite and above zero"
        youngs = number(
            f"{self.name}: Young's modulus", self.youngs_modulus, "MPa", SOFTEST, LARGEST, above_zero
        )
        poisson = number(f"{self.name}: Poisson's ratio", self.poisson, "", -1.0, 0.5, "between -1 and 0.5")
        if poisson == -1.0:
            raise ValueError(
                f"{self.name}: Poisson's ratio must lie above -1, where the shear modulus is infinite: "
                f"got {shown(poisson)}"
            )
        object.__setattr__(self, "youngs_modulus", youngs)
        object.__setattr__(self, "poisson", poisson)
        if self.yield_stress is not None:
            what = f"{self.name}: the yield stress"
            value = number(what, self.yield_stress, "MPa", SOFTEST, LARGEST, f"{above_zero}, or None")
            object.__setattr__(self, "yield_stress", value)

    @property
    def shear_modulus(self) -> float:
        """G = E / (2 (1 + nu)), MPa."""
        return self.youngs_modulus / (2.0 * (1.0 + self.poisson))

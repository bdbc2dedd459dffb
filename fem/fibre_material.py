"""Materials that yield and materials that transform: plain values, checked where they are made.

What they answer to strain is `fem.fibre_law_kernel`, with the equations; here is what a user gives.  Stresses are those
of axial tension in MPa, strains are pure numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.fibre_law_kernel import ELASTIC, ELASTOPLASTIC, SUPERELASTIC
from fem.material import SOFTEST, LinearElastic
from geometry.checks import LARGEST, number, shown, text

Array = NDArray[np.float64]

BODY = 37.0
"""degC, the temperature that plateau stresses are given at unless a material says otherwise."""
COLDEST, HOTTEST = -273.15, 1000.0
LARGEST_TRANSFORMATION = 0.2
"""Transformation strains of wires are a few per cent; a number above this is a slip of units."""
LARGEST_RATIO = 5.0
"""Of the plateau in compression over the one in tension, and the least is one over it."""
FINITE = "finite and above zero"
NOT_NEGATIVE = "finite and not below zero"


@dataclass(frozen=True, slots=True)
class Elastoplastic:
    """Von Mises yielding with linear isotropic and kinematic hardening, MPa; neither: perfectly plastic.

    The hardening moduli are stress per plastic strain in tension.  Raises ValueError for values no stable material has.
    """

    name: str
    youngs_modulus: float
    poisson: float
    yield_stress: float
    isotropic_hardening: float = 0.0
    kinematic_hardening: float = 0.0

    def __post_init__(self) -> None:
        # the elastic constants meet the same conditions as those of a material without history
        elastic = LinearElastic(self.name, self.youngs_modulus, self.poisson)
        object.__setattr__(self, "youngs_modulus", elastic.youngs_modulus)
        object.__setattr__(self, "poisson", elastic.poisson)
        _keep(self, "yield_stress", "the yield stress", "MPa", SOFTEST, LARGEST, FINITE)
        for kind in ("isotropic", "kinematic"):
            what = f"the {kind} hardening modulus"
            must = f"{NOT_NEGATIVE} (a wire that softens breaks where it softens)"
            _keep(self, f"{kind}_hardening", what, "MPa", 0.0, LARGEST, must)

    @property
    def shear_modulus(self) -> float:
        """G = E / (2 (1 + nu)), MPa."""
        return self.youngs_modulus / (2.0 * (1.0 + self.poisson))


@dataclass(frozen=True, slots=True)
class Superelastic:
    """Austenite that a stress turns into martensite, and that turns back as the stress falls.

    Start and finish of both plateaus are axial tensions at ``reference_temperature``; all four grow with temperature by
    ``clausius_clapeyron``.  In compression they are ``compression_ratio`` times as large and the transformation strain
    is as much smaller, so that the work of transformation is the same (a softer martensite lowers the stresses a
    little, by the elastic energy it sets free).  Both phases share Poisson's ratio.  Martensite
    stays elastic: yielding past the plateau is not modelled.  Raises ValueError for values that make no closed loop.
    """

    name: str
    austenite_modulus: float
    martensite_modulus: float
    poisson: float
    transformation_strain: float
    loading_start: float
    loading_finish: float
    unloading_start: float
    unloading_finish: float
    compression_ratio: float = 1.0
    clausius_clapeyron: float = 0.0
    """MPa per degree."""
    reference_temperature: float = BODY
    """degC."""

    def __post_init__(self) -> None:
        elastic = LinearElastic(f"{self.name}, austenite", self.austenite_modulus, self.poisson)
        object.__setattr__(self, "austenite_modulus", elastic.youngs_modulus)
        object.__setattr__(self, "poisson", elastic.poisson)
        _keep(
            self, "martensite_modulus", "Young's modulus of martensite", "MPa", SOFTEST, LARGEST, FINITE
        )  # fmt: skip
        if self.martensite_modulus > self.austenite_modulus:
            raise ValueError(
                f"{self.name}: martensite must not be stiffer than austenite, "
                f"{shown(self.austenite_modulus, 'MPa')}: got {shown(self.martensite_modulus, 'MPa')}; "
                "the drive to transform would fall as the stress grows"
            )
        most = LARGEST_TRANSFORMATION
        must = f"above zero and at most {most:g} (0.07 is 7 %)"
        _keep(self, "transformation_strain", "the transformation strain", "", 1e-6, most, must)
        for plateau in ("loading", "unloading"):
            for end in ("start", "finish"):
                what = f"the {end} of the {plateau} plateau"
                _keep(self, f"{plateau}_{end}", what, "MPa", SOFTEST, LARGEST, FINITE)
        must = f"from {1.0 / LARGEST_RATIO:g} to {LARGEST_RATIO:g}"
        what = "the plateau stress in compression over the one in tension"
        _keep(self, "compression_ratio", what, "", 1.0 / LARGEST_RATIO, LARGEST_RATIO, must)
        what = "the growth of the plateaus with temperature"
        _keep(self, "clausius_clapeyron", what, "MPa/K", 0.0, LARGEST, NOT_NEGATIVE)
        what = "the reference temperature"
        _keep(self, "reference_temperature", what, "degC", COLDEST, HOTTEST, "a temperature")
        self._check_order()

    def _check_order(self) -> None:
        """A loop that is run through clockwise, one plateau above the other, each rising."""
        for upper, lower, why in (
            ("loading_finish", "loading_start", "the loading plateau rises from start to finish"),
            ("unloading_start", "unloading_finish", "the unloading plateau falls from start to finish"),
        ):
            if not getattr(self, upper) > getattr(self, lower):
                raise ValueError(
                    f"{self.name}: {_words(upper)} must lie above {_words(lower)}: {why}; got "
                    f"{shown(getattr(self, upper), 'MPa')} and {shown(getattr(self, lower), 'MPa')}"
                )
        if self.unloading_start > self.loading_start:
            raise ValueError(
                f"{self.name}: {_words('unloading_start')} must not lie above {_words('loading_start')}: a loop "
                f"would give energy away; got {shown(self.unloading_start, 'MPa')} and "
                f"{shown(self.loading_start, 'MPa')}"
            )

    @property
    def shear_modulus(self) -> float:
        """Of austenite, G = E / (2 (1 + nu)), MPa."""
        return self.austenite_modulus / (2.0 * (1.0 + self.poisson))

    @property
    def youngs_modulus(self) -> float:
        """Of austenite, MPa: what a wire at rest has."""
        return self.austenite_modulus

    def shift(self, temperature: float | None = None) -> float:
        """What a temperature (degC; None: the reference) adds to the four plateau stresses, MPa.

        Raises ValueError where martensite would not go back when the wire is unloaded.
        """
        if temperature is None:
            return 0.0
        warm = number("the temperature", temperature, "degC", COLDEST, HOTTEST, "a temperature")
        added = self.clausius_clapeyron * (warm - self.reference_temperature)
        if self.unloading_finish + added <= 0.0:
            coldest = self.reference_temperature - self.unloading_finish / self.clausius_clapeyron
            raise ValueError(
                f"{self.name}: at {warm:g} degC martensite does not go back when unloaded, which this law does "
                f"not describe; take a temperature above {coldest:.4g} degC"
            )
        return added


FibreMaterial = LinearElastic | Elastoplastic | Superelastic


def law_of(material: FibreMaterial, temperature: float | None = None) -> tuple[int, Array]:
    """Kind of law and its numbers, as `fem.fibre_law_kernel` takes them, at a temperature in degC.

    Only superelastic materials heed the temperature.  A linear elastic one never yields, whatever its yield stress.
    """
    if isinstance(material, Superelastic):
        ratio = material.compression_ratio
        numbers = (
            material.austenite_modulus,
            2.0 * (1.0 + material.poisson),
            1.0 / material.martensite_modulus - 1.0 / material.austenite_modulus,
            material.transformation_strain,
            (ratio - 1.0) / (ratio + 1.0),
            material.loading_start,
            material.loading_finish,
            material.unloading_start,
            material.unloading_finish,
            material.shift(temperature),
        )
        return SUPERELASTIC, np.array(numbers)
    if isinstance(material, Elastoplastic):
        moduli = (material.youngs_modulus, material.shear_modulus)
        hardening = (material.isotropic_hardening, material.kinematic_hardening)
        return ELASTOPLASTIC, np.array([*moduli, material.yield_stress, *hardening])
    return ELASTIC, np.array([material.youngs_modulus, material.shear_modulus])


def elastic_of(material: FibreMaterial) -> LinearElastic:
    """What a material is as long as it neither yields nor transforms; a linear elastic one is given back."""
    if isinstance(material, LinearElastic):
        return material
    return LinearElastic(material.name, material.youngs_modulus, material.poisson)


def elastic_limit(material: FibreMaterial, temperature: float | None = None) -> float:
    """Von Mises stress, MPa, below which a material never strained is elastic whatever the stresses are.

    Of a superelastic one: q <= (1 + |b|)/(1 + b) r with r the von Mises stress, and s^2 + k t^2 <= r^2, so the drive
    is at most that of an axial tension (1 + |b|)/(1 + b) r (symbols: `fem.fibre_law_kernel`).
    """
    if isinstance(material, Superelastic):
        ratio = material.compression_ratio
        return (material.loading_start + material.shift(temperature)) * min(1.0, ratio)
    return material.yield_stress if isinstance(material, Elastoplastic) else math.inf


def _words(name: str) -> str:
    plateau, end = name.split("_")
    return f"the {end} of the {plateau} plateau"


def _keep(
    material: Elastoplastic | Superelastic,
    name: str,
    what: str,
    unit: str,
    least: float,
    most: float,
    must: str,
) -> None:
    """The number in a field, checked, as a float."""
    text("the name of a material", material.name)
    value = number(f"{material.name}: {what}", getattr(material, name), unit, least, most, must)
    assert math.isfinite(value)
    object.__setattr__(material, name, value)

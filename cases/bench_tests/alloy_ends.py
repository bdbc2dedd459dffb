"""Alloys of the library as a bending test meets them, and as they are at the ends of their ranges.

The library gives each constant a range; a wire may lie anywhere in it.  What a published figure is compared with is
therefore three wires: that of the library's values, the weakest and the strongest, or the stiffest and the most
springy, that the ranges allow.
"""

from __future__ import annotations

from dataclasses import replace

from cases.materials import library
from cases.schema import Constant
from fem.fibre_material import Elastoplastic, Superelastic


def constants(name: str) -> dict[str, Constant]:
    """Constants of an alloy by key."""
    return {one.key: one for one in library()[name].constants}


def yielding(name: str) -> Elastoplastic:
    """An alloy that yields, with the library's values."""
    law = library()[name].spec("elastoplastic").law
    assert isinstance(law, Elastoplastic)
    return law


def transforming(name: str) -> Superelastic:
    """An alloy that transforms, with the library's values."""
    law = library()[name].spec("superelastic").law
    assert isinstance(law, Superelastic)
    return law


def by_spring(name: str) -> tuple[Elastoplastic, Elastoplastic]:
    """Of an alloy that yields the least and the most springy wire: stiff, soon yielding, without hardening; compliant,
    late yielding, hardening."""
    law, known = yielding(name), constants(name)
    modulus, limit, hardening = (
        known[key] for key in ("youngs_modulus", "yield_stress", "isotropic_hardening")
    )
    return (
        replace(law, youngs_modulus=modulus.high, yield_stress=limit.low, isotropic_hardening=hardening.low),
        replace(law, youngs_modulus=modulus.low, yield_stress=limit.high, isotropic_hardening=hardening.high),
    )


def by_yield(name: str) -> tuple[Elastoplastic, Elastoplastic]:
    """Of an alloy that yields the weakest and the strongest wire, of the library's modulus."""
    law, limit = yielding(name), constants(name)["yield_stress"]
    return replace(law, yield_stress=limit.low), replace(law, yield_stress=limit.high)


def by_strength(name: str) -> tuple[Superelastic, Superelastic]:
    """Of an alloy that transforms the weakest and the strongest wire: moduli, plateaus and their excess in compression.

    Plateaus keep the rise that the library gives them, so the weakest loading plateau begins at the end of its range
    and the strongest ends there; likewise on the way back."""
    law, known = transforming(name), constants(name)
    rise, fall = law.loading_finish - law.loading_start, law.unloading_start - law.unloading_finish

    def at(end: str) -> Superelastic:
        moduli = {key: getattr(known[key], end) for key in ("austenite_modulus", "martensite_modulus")}
        loading, unloading = getattr(known["loading_start"], end), getattr(known["unloading_start"], end)
        start = loading if end == "low" else loading - rise
        finish = unloading if end == "low" else unloading - fall
        return replace(
            law, **moduli, compression_ratio=getattr(known["compression_ratio"], end), loading_start=start,
            loading_finish=start + rise, unloading_start=finish + fall, unloading_finish=finish,
        )  # fmt: skip

    return at("low"), at("high")

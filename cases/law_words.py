"""What a law of the wire's material assumes, in words."""

from __future__ import annotations

from cases.schema import AnalysisSpec, MaterialSpec
from cases.words import three


def law_words(material: MaterialSpec, analysis: AnalysisSpec) -> str:
    """The law with its numbers, and what it leaves out."""
    elastic = f"Young's modulus {three(material.youngs_modulus_mpa / 1000.0)} GPa, Poisson's ratio {material.poisson:g}"
    limit = "no yield stress" if material.yield_mpa is None else f"yield {three(material.yield_mpa)} MPa"
    if material.law is None:
        return f"{material.name}: linear elastic, {elastic}, {limit}"
    from fem.fibre_material import Elastoplastic

    law = material.law
    if isinstance(law, Elastoplastic):
        hardening = (
            "perfectly plastic"
            if law.isotropic_hardening == 0.0 == law.kinematic_hardening
            else f"hardening {three(law.isotropic_hardening)} MPa isotropic and {three(law.kinematic_hardening)} MPa "
            "kinematic"
        )
        return (
            f"{material.name}: yields after von Mises, axial and shear stresses together, {elastic}, {limit}, "
            f"{hardening}; no creep, no fatigue, nothing breaks"
        )
    warm = law.shift(analysis.temperature)
    loading, unloading = (
        f"{three(one + warm)} to {three(other + warm)} MPa"
        for one, other in (
            (law.loading_start, law.loading_finish),
            (law.unloading_start, law.unloading_finish),
        )
    )
    return (
        f"{material.name}: superelastic, {elastic} (austenite) and {three(law.martensite_modulus / 1000.0)} GPa "
        f"(martensite), transformation strain {three(100.0 * law.transformation_strain)} %; at "
        f"{analysis.temperature:g} degC loading from {loading} and unloading from {unloading} in tension, "
        f"{law.compression_ratio:g} times that in compression, {law.clausius_clapeyron:g} MPa more with each degree; "
        "martensite does not yield, no fatigue, nothing breaks"
    )

"""How far the published spread of an alloy's Young's modulus moves a result: farther than any error of its solution.

Attachments are sent to given poses.  Let the wire be linear elastic and nothing else give way: then with every stress
times k, wall forces and friction (which is bounded by mu times them) times k, the same shape is in equilibrium for a
modulus k E; at a fixed Poisson's ratio the shear modulus goes along.  So every load is proportional to E, whatever the
displacements and the play, and the slots touched are the same.  Where something else gives way, stiffnesses act in
series: the sum of all elastic energies changes by a smaller share, d ln U / d ln E being the wire's part of U.
"""

from __future__ import annotations

import math

from cases.materials import written
from cases.results import ModulusSpread
from cases.schema import Case
from cases.tooth_support import supported
from cases.words import listed, three


def modulus_spread(case: Case) -> ModulusSpread | None:
    """What the range of the alloy's modulus means for a case; None where no range is known."""
    modulus = case.wire.material.modulus
    if modulus is None:
        return None
    low, high = (100.0 * (end / modulus.value - 1.0) for end in (modulus.low, modulus.high))
    others = gives_way(case)
    name, ends = case.wire.material.name, (written(end, "stress") for end in (modulus.low, modulus.high))
    over = f"Over the published range of Young's modulus of {name}, {' to '.join(ends)},"
    if not others:
        sentence = (
            f"{over} every force, couple and stress is {_ends(low, high, 'lower', 'higher')} than told."
        )
        why = (
            "Nothing but the linear elastic wire gives way here, so all loads are proportional to its modulus, in the "
            "same shape"
        )
    else:
        sentence = f"{over} the wire is {_ends(low, high, 'softer', 'stiffer')} than told, the loads less so as a rule."
        why = f"They are not proportional to its modulus, because {listed(others)}"
    words = f"{sentence} {why}; that range outweighs all solver error"
    return ModulusSpread(
        modulus.value, modulus.low, modulus.high, low, high, not others, others, sentence, words
    )


def _ends(low: float, high: float, less: str, more: str) -> str:
    return f"{three(abs(low))} % {less} to {three(high)} % {more}"


def no_range_words(case: Case) -> str:
    """What is said where no range is known."""
    return (
        f"no range of Young's modulus is known for {case.wire.material.name}: give youngs_modulus_range with the "
        "material; moduli of one alloy often spread by 10 to 20 %, and the wire's stiffness with them, which outweighs "
        "all solver error"
    )


def gives_way(case: Case) -> tuple[str, ...]:
    """What besides a linear elastic wire answers to load in a case: each a subject with its verb."""
    out = []
    if case.wire.material.law is not None:
        out.append("the wire may yield or transform")
    strange = [wire.name for wire in case.more_wires if wire.material != case.wire.material]
    if strange:
        out.append(f"{listed(strange)} {'is' if len(strange) == 1 else 'are'} of another alloy")
    attachments = [spec.attachment for spec in case.attachments]
    if any(words is not None for words in supported(case.attachments)):
        out.append("teeth give way")
    if any(one.ligation.is_elastic for one in attachments):
        out.append("ligatures or clips give way")
    if any(not math.isinf(one.wall_modulus) for one in attachments):
        out.append("walls of slots give way")
    if any(one.thread is not None and not math.isinf(one.thread.stiffness) for one in attachments):
        out.append("threads stretch")
    if case.bench is not None and any(case.bench.compliance):
        out.append("the rig gives way")
    return tuple(out)

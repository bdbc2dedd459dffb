"""What to say of a run that found no equilibrium: how far it came, and what was the matter by then."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cases.build import build_model
from cases.legs import legs_of
from cases.schema import Case
from cases.wire_stress import wire_stress
from cases.words import three
from fem.leaving import coming_out
from fem.path import Increment
from fem.status import NoEquilibrium


def failure_words(case: Case, failure: NoEquilibrium) -> tuple[str, ...]:
    """Sentences, the first of which is the failure's own."""
    increments = [one for one in failure.accepted if isinstance(one, Increment)]
    if not increments:
        return (
            f"{failure}; not even the first increment was found: look whether the wire is long enough, and whether "
            "an attachment starts where it cannot hold the wire",
        )
    model = build_model(case)
    legs = legs_of(case, model)
    last = increments[-1]
    snapshot = last.snapshot
    said = [str(failure)]
    if len(legs) > 1:
        said[0] += f' of "{legs[last.leg].name}"'
    names = list(case.held_by)
    out_of = coming_out(model.supports, snapshot)
    gone = {k for one in increments for k in one.left}
    left = [
        name for k, name in enumerate(names) if (snapshot.inside[k] < 1.0 or k in out_of) and k not in gone
    ]
    if gone:
        said.append(
            f"the wire had left {_listed([names[k] for k in sorted(gone)])} through the front of its slot"
        )
    if left:
        said.append(f"the wire was coming out of {_listed(left)}: give it more length, or close the slot")
    forces = np.linalg.norm(snapshot.force, axis=1)
    if forces.any():
        most = int(forces.argmax())
        told = f"the largest force by then was {three(float(forces[most]))} N, on {names[most]}"
        shares = [
            float(wire_stress(wire, snapshot.resultants[first:end])[2].max()) / wire.material.yield_mpa
            for wire, (first, end) in zip(case.wires, snapshot.spans, strict=True)
            if wire.material.law is None and wire.material.yield_mpa is not None
        ]
        if max(shares, default=0.0) > 1.0:
            told += (
                f", and the stress {three(max(shares))} times the yield stress: a real wire would have taken a set "
                "long before. Use a smaller activation or a thinner wire"
            )
        said.append(told)
    return tuple(said)


def _listed(names: Sequence[str]) -> str:
    quoted = [f'"{name}"' for name in names]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + " and " + quoted[-1]

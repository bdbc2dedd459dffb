"""Teeth with several attachments, such as a slot and an auxiliary tube: what they get altogether.

Loads add up at one point: F = sum of F_i, M = sum of M_i + (p_i - c) x F_i, by statics.  What is said of the tooth is
said of this sum, and of none of its parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from cases.force_system import vector
from cases.results import AttachmentResult, SharedTooth
from cases.schema import Case
from cases.teeth import centre_of, tooth_result
from cases.tooth_support import displacement, supported
from geometry.pose import Pose


def shared_teeth(
    case: Case, attachments: Sequence[AttachmentResult], floor: float, commanded: Sequence[Pose]
) -> tuple[tuple[SharedTooth, ...], tuple[AttachmentResult, ...]]:
    """The sums, and the attachments without what would be said of a part of their tooth's load alone.

    ``commanded`` (k,): poses of teeth that had not given way.  A centre of resistance that the case gives goes before a
    default one, which is seen from the first attachment."""
    gives_way = supported(case.attachments)
    out = list(attachments)
    found = []
    for tooth in dict.fromkeys(spec.tooth for spec in case.attachments if spec.tooth is not None):
        members = [
            k
            for k, spec in enumerate(case.attachments)
            if spec.tooth == tooth and not spec.attachment.is_edge
        ]
        known = [k for k in members if centre_of(case.attachments[k]) is not None]
        if len(members) < 2 or not known:
            continue
        home = min(known, key=lambda k: (case.attachments[k].centre_of_resistance is None, k))
        pose = out[home].pose
        force = sum((np.array(out[k].force_n) for k in members), np.zeros(3))
        moment = sum(
            (
                np.array(out[k].moment_nmm)
                + np.cross(np.array(out[k].moment_about_mm) - pose.position, np.array(out[k].force_n))
                for k in members
            ),
            np.zeros(3),
        )
        spec = case.attachments[home]
        result = tooth_result(spec, pose.axes.T @ force, pose.axes.T @ moment, np.zeros(3), floor)
        assert result is not None
        support = gives_way[home]
        if support is not None:
            moved = displacement(spec, commanded[home], pose)
            result = replace(result, support=support, displacement=moved)
        found.append(
            SharedTooth(
                tooth,
                tuple(out[k].name for k in members),
                vector(force),
                vector(pose.axes @ np.array(result.moment_nmm)),
                result,
            )
        )
        for k in members:
            out[k] = replace(out[k], at_centre_of_resistance=None, moment_at_centre_of_resistance_nmm=None)
    return tuple(found), tuple(out)

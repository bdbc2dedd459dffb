"""How teeth give way: ``support`` and ``segment`` of an attachment, and what must fit together about them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from cases.reader import Table, shown
from cases.schema import AttachmentSpec, BenchSpec, StageSpec, SupportSpec
from cases.tooth_sizes import typical_support
from cases.units import Kind
from geometry.tooth import Tooth

if TYPE_CHECKING:
    from cases.read_attachments import ReadAttachment

TYPICAL = "typical"
SAME_CENTRE = 0.05
"""mm by which two places of one centre of resistance may differ: sizes are typed in with two decimals."""
EXAMPLE = (
    '{ along = ["200 N/mm", "200 N/mm", "200 N/mm"], about = ["16 Nmm/deg", "8 Nmm/deg", "16 Nmm/deg"] }'
)


def three_stiffnesses(table: Table, key: str, kind: Kind, example: str, what: str) -> tuple[float, ...]:
    """Stiffnesses (3,) along or about x, y and z, N/mm or N mm/rad; infinite where "rigid" or not given."""
    if not table.has(key):
        return (math.inf,) * 3
    given = table.data[key]
    if not isinstance(given, list) or len(given) != 3:
        remedy = f'write {key} = ["{example}", "{example}", "rigid"]'
        table.problem(key, f"expected three stiffnesses [x, y, z], got {shown(given)}", remedy)
        return (math.inf,) * 3
    read = [
        math.inf if one == "rigid" else table.one_of(key, i, kind, f"a stiffness of the {what}", "positive")
        for i, one in enumerate(given)
    ]
    return tuple(math.inf if value is None else value for value in read)


def read_support(table: Table, tooth: Tooth | None, has_centre: bool) -> SupportSpec | None:
    """The linear support of a tooth, if it has one; problems go to the findings."""
    if not table.has("support"):
        return None
    if table.data["support"] == TYPICAL:
        return _typical(table, tooth)
    if isinstance(table.data["support"], str):
        what = f'expected "{TYPICAL}" or stiffnesses, got {shown(table.data["support"])}'
        table.problem("support", what, f'write support = "{TYPICAL}", or support = {EXAMPLE}')
        return None
    inner = table.table("support", "the support of the tooth", EXAMPLE)
    if inner is None:
        return None
    inner.only("along", "about")
    if not inner.data:
        table.problem("support", "no stiffness is given", f"write support = {EXAMPLE}, or leave it out")
    before = len(table.findings.problems)
    stiffness = (
        *three_stiffnesses(inner, "along", "stiffness", "200 N/mm", "support"),
        *three_stiffnesses(inner, "about", "turning stiffness", "16 Nmm/deg", "support"),
    )
    if not has_centre and (tooth is None or tooth.deciduous):
        table.problem(
            "support",
            "a support stands at the centre of resistance, which is not known",
            'add centre_of_resistance = ["0 mm", "-9 mm", "-4 mm"] (from the slot), or tooth = "47" for an average one',
        )
    if len(table.findings.problems) > before:
        return None
    return SupportSpec(stiffness, "stiffnesses given in the case")


def _typical(table: Table, tooth: Tooth | None) -> SupportSpec | None:
    found = None if tooth is None else typical_support(tooth)
    if found is None:
        table.problem(
            "support",
            "a typical support needs a permanent tooth",
            f'add tooth = "47" (FDI), or give stiffnesses: support = {EXAMPLE}',
        )
        return None
    return SupportSpec(*found)


def one_body_a_tooth(specs: Sequence[AttachmentSpec]) -> tuple[AttachmentSpec, ...]:
    """Attachments of one tooth that gives way belong together, as those of a segment do."""
    shared = [
        tooth
        for tooth in dict.fromkeys(spec.tooth for spec in specs if spec.tooth is not None)
        if sum(spec.tooth == tooth for spec in specs) > 1
        and any(spec.support is not None for spec in specs if spec.tooth == tooth)
    ]
    return tuple(
        replace(spec, segment=f"tooth {spec.tooth}")
        if spec.tooth in shared and spec.segment is None and not spec.attachment.is_edge
        else spec
        for spec in specs
    )


def _check_shared_teeth(attachments: Sequence[ReadAttachment]) -> None:
    """Several attachments of one tooth: one support, one segment, one centre of resistance.  Where the case names a
    segment, its supports are added up as those of any segment."""
    teeth: dict[str, list[tuple[Table, AttachmentSpec]]] = {}
    for item in attachments:
        if item.spec is not None and item.spec.tooth is not None:
            teeth.setdefault(item.spec.tooth, []).append((item.table, item.spec))
    for tooth, members in teeth.items():
        if len({spec.segment for _, spec in members}) > 1:
            what = f"attachments of tooth {tooth} are in different segments, or some in none"
            members[-1][0].problem("segment", what, "give all attachments of a tooth the same segment")
        if members[0][1].segment is not None:
            continue
        supported = [table for table, spec in members if spec.support is not None]
        for table in supported[1:]:
            what = f"tooth {tooth} has a support already, at another of its attachments"
            table.problem("support", what, "give a tooth one support")
        centres = [
            (table, spec.attachment.pose.to_world(np.array(spec.centre_of_resistance)))
            for table, spec in members
            if spec.centre_of_resistance is not None
        ]
        for table, centre in centres[1:]:
            apart = float(np.linalg.norm(centre - centres[0][1]))
            if apart > SAME_CENTRE:
                table.problem(
                    "centre_of_resistance",
                    f"tooth {tooth} has one centre of resistance; from here it lies {apart:.3g} mm beside that given "
                    "at another of its attachments",
                    "give it at one of them only",
                )


def check_teeth(
    attachments: Sequence[ReadAttachment], stages: Sequence[StageSpec], bench: BenchSpec | None
) -> None:
    """Write down what does not fit together about the teeth's supports."""
    _check_shared_teeth(attachments)
    segments: dict[str, list[ReadAttachment]] = {}
    for item in attachments:
        spec = item.spec
        if spec is None:
            continue
        if spec.segment is not None:
            segments.setdefault(spec.segment, []).append(item)
        if bench is not None and bench.moved == spec.name and any(bench.compliance):
            for key in ("support", "segment"):
                if item.table.has(key):
                    what = f"{spec.name} is moved by a rig that gives way, so it stands on no tooth"
                    item.table.problem(key, what, f"leave {key} out, or gives_way in [bench]")
    moved = {stage.moved for stage in stages} | ({bench.moved} if bench is not None else set())
    for name, members in segments.items():
        first = members[0].table
        if len(members) == 1:
            what = f'no other attachment belongs to the segment "{name}"'
            first.problem("segment", what, "give it to the others too, or leave it out")
        elif not any(item.spec is not None and item.spec.support is not None for item in members):
            what = f'nothing says how the segment "{name}" gives way'
            first.problem("segment", what, f'give one or more of its attachments support = "{TYPICAL}"')
        for item in members:
            if item.spec is None:
                continue
            if item.spec.support is not None and math.inf in item.spec.support.stiffness:
                what = "a support within a segment has six stiffnesses, none of them rigid: they are added up"
                item.table.problem("support", what, f"write support = {EXAMPLE}")
            if item.name in moved:
                what = f'{item.name} cannot move alone, it belongs to the rigid segment "{name}"'
                item.table.problem("segment", what, "leave segment out, or move another attachment")

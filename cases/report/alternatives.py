"""What each picture shows, in words and numbers, for a reader who cannot see it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cases.bench_words import bench_sentences
from cases.report.panels import VIEW_KEYS, bench_subject
from cases.report.stress_panel import attachment_spans
from cases.results import BenchResult, RunResult
from cases.show import labels
from cases.show.activation_figure import force_sizes, moments, shares
from cases.show.closed_form import ReferenceCurve
from cases.show.loads import loads
from cases.show.plots import Plot
from cases.show.slot_figure import card_lines
from cases.show.slot_view import SlotView
from cases.show.unrolled import shown as views_shown
from cases.show.way import without_bench
from cases.words import shown, three

FEW = 4
"""Points of a curve that are told beside its first and its last."""


def scene_words(result: RunResult) -> str:
    """Of the picture of the whole."""
    parts = [
        f"{labels.name_text(item)}: force {labels.force_text(_size(item.force_n))}, "
        f"moment {labels.moment_text(_size(item.moment_nmm))}"
        for item in result.attachments
    ]
    title, stresses = labels.stresses_shown(result)
    wire, values = max(zip(result.wires, stresses, strict=True), key=lambda one: float(one[1].max()))
    worst = int(values.argmax())
    which = f"the start of {wire.name}" if result.more_wires else "the wire's start"
    return (
        f"The engaged wire in its attachments, coloured by {title}, with a straight arrow for every force and "
        f"a round one for every moment. {'. '.join(parts)}. The {title.removesuffix(' (MPa)')} is largest, "
        f"{three(float(values[worst]))} MPa, {three(float(wire.arc_length_mm[worst]))} mm from {which}."
    )


def view_words(result: RunResult, key: str) -> str:
    """Of one of the three views."""
    face, seen = views_shown(result)[VIEW_KEYS.index(key)]
    right, up = face.words
    parts = []
    for load in loads(seen, face):
        name = f"{load.number} {labels.name_text(load.attachment)}"
        said = []
        if load.shows_force:
            across, upward = (float(value) for value in load.force)
            said.append(
                f"force {labels.force_text(float(np.hypot(across, upward)))}, {shown(across)} N along {right} and "
                f"{shown(upward)} N along {up}"
            )
        if load.shows_moment:
            way = "counter-clockwise" if load.moment > 0.0 else "clockwise"
            said.append(f"moment {labels.moment_text(abs(load.moment))}, {way}")
        parts.append(f"{name}: {'; '.join(said) or 'no force and no moment worth an arrow here'}")
    return f"{face.title}; to the right {right}, upwards {up}. {'. '.join(parts)}."


def slot_words(view: SlotView) -> str:
    """Of one slot, seen mesiodistally."""
    lines = "; ".join(card_lines(view)).replace("±", "plus or minus ").replace("°", " deg")
    return f"Slot of {labels.name_text(view.attachment)} with the wire in it, to scale: {lines}."


def curve_words(result: RunResult, key: str, references: Sequence[ReferenceCurve]) -> str:
    """Of the force, or of the moment of one order, along the activation."""
    kept = without_bench(result)
    at = shares(kept)
    what, unit = (
        ("Size of the force", "N") if key == "force" else (f"{key.capitalize()}-order moment", "N mm")
    )
    parts = []
    for k, item in enumerate(kept.attachments):
        values = force_sizes(kept, k) if key == "force" else moments(kept, k, key)
        parts.append(f"{labels.name_text(item)}: {_points(at, values)} {unit}")
    for one in references:
        if one.order == key:
            values = list(one.moment_nmm)
            told = _points([100.0 * share for share in one.activation], values)
            parts.append(f"closed form {one.label} for {one.attachment} ({one.source}): {told} {unit}")
    return f"{what} on the teeth against the way gone in percent. {'. '.join(parts)}."


def stress_words(result: RunResult, yields: Sequence[float | None]) -> str:
    """Of the stress along every wire; ``yields``: yield stress of each, MPa."""
    said = []
    for wire in result.wires:
        for name, values in (
            ("bending and axial", wire.bending_stress_mpa),
            ("shear from torsion", wire.shear_stress_mpa),
        ):
            worst = int(values.argmax())
            which = f"{wire.name}, " if result.more_wires else ""
            said.append(
                f"{which}{name} up to {shown(float(values[worst]))} MPa, "
                f"{three(float(wire.arc_length_mm[worst]))} mm from the start"
            )
    limit = "".join(
        f" The yield stress{f' of {wire.name}' if result.more_wires else ''} is {three(mpa)} MPa."
        for wire, mpa in zip(result.wires, yields, strict=True)
        if mpa is not None
    )
    spans = [
        f"{number} {labels.name_text(item)} from {_place(start)} to {_place(end)} mm"
        for number, (item, (start, end)) in enumerate(
            zip(result.attachments, attachment_spans(result), strict=True), start=1
        )
    ]
    return f"Stress along the wire: {'; '.join(said)}.{limit} Attachments: {'; '.join(spans)}."


def bench_picture_words(bench: BenchResult) -> str:
    """Of a bench test."""
    return f"{bench_subject(bench)}. {' '.join(bench_sentences(bench))}"


def plot_words(subject: str, plots: Sequence[Plot]) -> str:
    """Of plots of curves: some points of every line, what is hatched, the ends of a band."""
    parts = []
    for plot in plots:
        unit = plot.y_label.rsplit("(", 1)[-1].rstrip(")")
        place = plot.x_label.rsplit("(", 1)[-1].split(" ")[0].rstrip(",)")
        said = [f"{line.label}: {_points(line.x, line.y, place)} {unit}" for line in plot.lines]
        if plot.stretch is not None:
            said.append(plot.stretch.label)
        if plot.band is not None:
            band = plot.band
            said += [
                f"{name} of {band.label}: {_points(band.x, values, place)} {unit}"
                for name, values in (
                    ("lower end", band.low),
                    ("median", band.middle),
                    ("upper end", band.high),
                )
            ]
        said += [
            f"{one.kind} {one.label} ({one.source}): {_points(one.at, one.values, place)} {unit}"
            for one in plot.known
        ]
        parts.append(f"{plot.title}, along {plot.x_label}: {'; '.join(said)}")
    return f"{subject}. {'. '.join(parts)}."


def _place(value: float) -> str:
    return f"{value:.1f}"


def _points(at: Sequence[float], values: Sequence[float], unit: str = "%") -> str:
    """The first, the last and some values between, each with its place."""
    picked = sorted({round(share * (len(at) - 1) / (FEW + 1)) for share in range(FEW + 2)})
    return ", ".join(f"{shown(float(values[k]))} at {at[k]:.3g} {unit}" for k in picked)


def _size(vector: Sequence[float]) -> float:
    return float(np.linalg.norm(vector))

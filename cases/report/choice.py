"""Which figure is asked for, and what belongs to it: what draws it, its words, its numbers, what stands below it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from cases.report import alternatives as told
from cases.report.curve_panels import draw_plots, draw_walls
from cases.report.legends import NOTHING_MORE
from cases.report.panels import (
    Frame,
    Panel,
    Room,
    bench_subject,
    curve_keys,
    draw_bench_panel,
    draw_curve,
    draw_slot,
    draw_view,
    view_keys,
)
from cases.report.stress_panel import attachment_numbers, draw_stress
from cases.results import ORDERS, BenchResult, RunResult
from cases.schema import Case
from cases.show import activation_figure as curves
from cases.show import expression, labels
from cases.show import walls_figure as walls
from cases.show.agreement import Known, brief, closed_form_differences, difference, sentence
from cases.show.bench_figure import figure_table, measured_of, whole_curve
from cases.show.closed_form import ReferenceCurve
from cases.show.loads import views_table
from cases.show.plots import Band, Line, Plot, name_in_legend, plots_table
from cases.show.slot_view import slot_table, slot_views
from cases.show.stress_table import stress_table
from cases.show.tables import Table
from cases.show.way import without_bench

OVERLAID = ("force", *ORDERS, "ratio", "torque", "bench")
"""Figures that take known points."""
OF_ONE = ("slot", "back", "torque")
"""Figures of one attachment."""


class NotThere(Exception):
    """A figure that a case does not have; the reason for the user."""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked for beside the kind of figure."""

    references: Sequence[ReferenceCurve] = ()
    attachment: str | None = None
    known: Sequence[Known] = ()
    band: Band | None = None
    notes: Sequence[str] = ()
    """What else stands below, such as whose the band is."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One figure, ready to be drawn."""

    subject: str
    """Said below its title in print."""
    on_slide: bool
    """Whether a slide says it too; else its picture does."""
    words: str
    table: Callable[[], Table]
    draw: Callable[[Room, Frame, bool], Panel]
    """From the room, the frame and whether it is for a slide."""
    notes: tuple[str, ...] = ()
    """Below it in print: how far it is from what is known, and where that comes from.  A slide has no room for them:
    its legend tells the difference, its words name the sources."""


def kinds_of(case: Case, result: RunResult, references: Sequence[ReferenceCurve] = ()) -> tuple[str, ...]:
    """The figures of this result that show anything."""
    return (
        *view_keys(result),
        *(["slot"] * bool(slot_views(result))),
        *curve_keys(result, references),
        *(["ratio"] * bool(_with_ratio(result))),
        *(["torque"] * expression.expresses_torque(result)),
        *(["back"] * expression.goes_back(result, case)),
        "stress",
        *(["walls"] * bool(walls.opened(result))),
        *(["bench"] * (result.bench is not None)),
    )


def must_fit(what: str, overlaid: bool, banded: bool) -> None:
    """Raises NotThere where points, or a band, are laid over a figure that takes none."""
    if overlaid and what not in OVERLAID:
        raise NotThere(
            f"--measured and --theory go with --what {', '.join(OVERLAID)}, not with {what}; leave them out"
        )
    if banded and what != "torque":
        raise NotThere(f"--study goes with --what torque, not with {what}; leave it out")


def choose(case: Case, result: RunResult, what: str, asked: Question) -> Choice:
    """The figure ``what``.  Raises NotThere for one that the case does not have or that does not take what is asked."""
    there = kinds_of(case, result, asked.references)
    if what not in there:
        raise NotThere(f"this case has no figure {what} that shows anything; there are: {', '.join(there)}")
    must_fit(what, bool(asked.known), asked.band is not None)
    takes_one = (*OF_ONE, *(OVERLAID[:4] if asked.known else ()))
    if asked.attachment is not None and what not in takes_one:
        raise NotThere(f"--attachment goes with --what {', '.join(OF_ONE)}, not with {what}; leave it out")
    if what in view_keys(result):
        return Choice("", False, told.view_words(result, what), lambda: views_table(result),
                      lambda room, frame, slide: draw_view(result, what, room, frame, slide))  # fmt: skip
    if what == "slot":
        return _slot(result, asked)
    if what == "stress":
        subject = f"Stress along the wire; attachments: {attachment_numbers(result)}"
        limits = [wire.material.yield_mpa for wire in case.wires]
        return Choice(subject, True, told.stress_words(result, limits), lambda: stress_table(result),
                      lambda room, frame, _: draw_stress(result, limits, room, frame))  # fmt: skip
    if what == "walls":
        items = walls.opened(result)
        subject = "Opening of the slots along their walls"
        return Choice(subject, True, walls.walls_words(items), lambda: walls.walls_table(items),
                      lambda room, frame, _: draw_walls(items, room, frame))  # fmt: skip
    if what == "bench":
        assert result.bench is not None
        return _bench(result, result.bench, asked)
    if what == "ratio":
        return _ratio(result, asked)
    if what == "torque":
        return _torque(result, asked)
    if what == "back":
        return _back(case, result, asked)
    return _curve(result, what, asked)


def index_of(result: RunResult, name: str | None, usual: int) -> int:
    """Of the attachment called ``name``, the ``usual`` one without a name."""
    names = [item.name for item in result.attachments]
    if name is None:
        return usual
    if name not in names:
        raise NotThere(f'there is no attachment "{name}"; there are: {", ".join(names)}')
    return names.index(name)


def _slot(result: RunResult, asked: Question) -> Choice:
    views = slot_views(result)
    names = [view.attachment.name for view in views]
    index = expression.first_of_largest([abs(view.third.moment_nmm) for view in views])
    if asked.attachment is not None:
        if asked.attachment not in names:
            raise NotThere(f'no slot belongs to "{asked.attachment}"; there are: {", ".join(names)}')
        index = names.index(asked.attachment)
    view = views[index]
    state = f"{labels.name_text(view.attachment)}, {view.third.words}"
    return Choice(state, True, told.slot_words(view), lambda: slot_table((view,)),
                  lambda room, frame, slide: draw_slot(result, index, frame, room, not slide))  # fmt: skip


def _bench(result: RunResult, bench: BenchResult, asked: Question) -> Choice:
    at, values = whole_curve(bench)
    known = [*measured_of(bench), *asked.known]
    units = ("N mm", "deg") if bench.turns else ("N", "mm")
    notes, more = _compared(known, Line("computed", tuple(at), tuple(values), {}), *units)
    words = " ".join([told.bench_picture_words(bench), *notes, *_sources(asked.known)])
    return Choice(
        bench_subject(bench), False, words, lambda: figure_table(bench),
        lambda room, frame, slide: draw_bench_panel(result, room, frame, asked.known, more if slide else NOTHING_MORE),
        (*notes, *_sources(asked.known)),
    )  # fmt: skip


def _curve(result: RunResult, what: str, asked: Question) -> Choice:
    kept = without_bench(result)
    fitting = curves.fitting_formulas(kept, asked.references)
    shares, values = curves.shares(kept), _values(kept, what)
    unit = "N" if what == "force" else "N mm"
    own = [one for one in fitting if one.order == what]
    every = [(item.name, values[k]) for k, item in enumerate(kept.attachments)]
    forms = closed_form_differences(own, shares, every)
    notes = [sentence(*pair, unit, "%") for pair in forms]
    label = f"closed form {' or '.join(sorted({one.label for one in own}))}"
    more = {label: brief(*max(forms, key=lambda pair: pair[1].largest), unit)} if forms else {}
    known = asked.known
    if known:
        index = _whose(result, asked.attachment, values)
        said, behind = _compared(known, Line("", tuple(shares), tuple(values[index]), {}), unit, "%")
        notes += [f"{one[:-1]}; {result.attachments[index].name}." for one in said]
        more |= behind
    sources = dict.fromkeys(f"Closed form {one.label}: {one.source}." for one in own)
    words = " ".join([told.curve_words(result, what, asked.references), *notes, *_sources(known)])
    return Choice(
        "", False, words, lambda: curves.activation_table(result, asked.references, known, what),
        lambda room, frame, slide: draw_curve(
            result, what, room, asked.references, frame, True, known, more if slide else NOTHING_MORE
        ),
        (*notes, *sources, *_sources(known)),
    )  # fmt: skip


def _values(kept: RunResult, what: str) -> list[list[float]]:
    """Of every attachment the curve that the figure shows."""
    return [
        curves.force_sizes(kept, k) if what == "force" else curves.moments(kept, k, what)
        for k in range(len(kept.attachments))
    ]


def _whose(result: RunResult, name: str | None, values: Sequence[Sequence[float]]) -> int:
    """Whose curve known points are held against: that which is named, or the only one that is worth a name."""
    sizes = [max((abs(value) for value in own), default=0.0) for own in values]
    having = [k for k, size in enumerate(sizes) if size >= curves.SMALL * max(sizes)]
    if name is None and len(having) != 1:
        there = ", ".join(f'"{result.attachments[k].name}"' for k in having)
        raise NotThere(
            f"points laid over this figure belong to one attachment: say which with --attachment ({there})"
        )
    return index_of(result, name, having[0])


def _ratio(result: RunResult, asked: Question) -> Choice:
    having = _with_ratio(result)
    plot = expression.ratio_plot(result, having, asked.known)
    notes: list[str] = []
    more: dict[str, str] = {}
    if asked.known:
        lines = [plot.lines[having.index(k)].y if k in having else () for k in range(len(result.attachments))]
        index = _whose(result, asked.attachment, lines)
        if index not in having:
            raise NotThere(
                f'"{result.attachments[index].name}" has no moment-to-force ratio to lay points over'
            )
        line = plot.lines[having.index(index)]
        notes, more = _compared(asked.known, line, "mm", "%")
    subject = "Moment-to-force ratio: size of the largest order's moment over that of the force in its plane"
    return _plotted(subject, True, (plot,), asked, notes, more)


def _torque(result: RunResult, asked: Question) -> Choice:
    index = index_of(result, asked.attachment, expression.most_inclined(result))
    item, way = result.attachments[index], expression.engagement(result)
    references = curves.fitting_formulas(result, asked.references)
    own = [one for one in references if one.order == "third" and one.attachment == item.name]
    plot = expression.torque_plot(result, own, index, asked.band, asked.known)
    notes, more = _compared(asked.known, plot.lines[0], "N mm", "deg")
    every = [(item.name, curves.moments(way, index, "third"))]
    for one, found in closed_form_differences(own, curves.shares(way), every):
        notes.insert(0, sentence(one, found, "N mm", "%"))
        more[one.label] = brief(one, found, "N mm")
    return _plotted(f"Torque on {labels.name_text(item)}", False, (plot,), asked, notes, more, own)


def _back(case: Case, result: RunResult, asked: Question) -> Choice:
    index = index_of(result, asked.attachment, expression.most_loaded(without_bench(result)))
    subject = f"In and back: {labels.name_text(result.attachments[index])}"
    return _plotted(subject, True, expression.back_plots(result, case, index), asked, [], {})


def _compared(known: Sequence[Known], line: Line, unit: str, place: str) -> tuple[list[str], dict[str, str]]:
    """What is said of ``known`` points beside a ``line``: in whole sentences, and behind their names in a legend."""
    apart = [(one, difference(one, line.x, line.y)) for one in known]
    return (
        [sentence(*pair, unit, place) for pair in apart],
        {name_in_legend(one): brief(one, found, unit) for one, found in apart},
    )


def _plotted(
    subject: str,
    on_slide: bool,
    plots: Sequence[Plot],
    asked: Question,
    notes: Sequence[str],
    more: Mapping[str, str],
    forms: Sequence[ReferenceCurve] = (),
) -> Choice:
    """The figure of some plots beside each other."""
    sources = (f"Closed form {one.label}: {one.source}." for one in forms)
    words = " ".join([told.plot_words(subject, plots), *notes, *asked.notes])
    titled = len(plots) > 1
    return Choice(
        subject, on_slide, words, lambda: plots_table(plots),
        lambda room, frame, slide: draw_plots(
            plots, room, frame, titled or not slide, more if slide else NOTHING_MORE
        ),
        (*notes, *asked.notes, *sources, *_sources(asked.known)),
    )  # fmt: skip


def _with_ratio(result: RunResult) -> list[int]:
    return [k for k in range(len(result.attachments)) if expression.has_ratio(result, k)]


def _sources(known: Sequence[Known]) -> tuple[str, ...]:
    return tuple(f"{one.label}: {one.source}." for one in known)

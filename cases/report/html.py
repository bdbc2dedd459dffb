"""A report as one page of HTML: everything in the file, no script, nothing fetched."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from cases.report.content import Report, Words
from cases.report.pictures import Picture, Pictures
from cases.report.style import STYLE
from cases.report.tables import Table

PROGRAM = "wireslot"
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
"""The page itself forbids every request to a network."""
NO_SCENE = (
    "The picture of the wire could not be drawn on the machine that made this page; the views below show it."
)
SECTIONS = (
    ("appliance", "The appliance"),
    ("forces", "Forces and moments on the teeth"),
    ("slots", "Each slot, seen mesiodistally"),
    ("stress", "Stress in the wire"),
    ("way", "Along the activation"),
    ("checks", "Checks"),
    ("assumptions", "Assumptions"),
    ("cautions", "Cautions, and how to read the signs"),
    ("provenance", "Provenance"),
)


def page(report: Report, pictures: Pictures) -> str:
    """The whole document.  The same report and pictures give the same text."""
    bodies = {
        "appliance": _appliance(report, pictures),
        "forces": _forces(report, pictures),
        "slots": _slots(pictures),
        "stress": _stress(report, pictures),
        "way": _way(report, pictures),
        "checks": _checks(report),
        "assumptions": _list(report.assumptions),
        "cautions": _list(report.cautions) + _h3("Signs and points") + _list(report.conventions),
        "provenance": _terms(report.provenance) + _case_text(report),
    }
    kept = [(key, title) for key, title in SECTIONS if bodies[key]]
    links = "".join(f'<li><a href="#{key}">{escape(title)}</a></li>' for key, title in kept)
    sections = "".join(
        f'<section id="{key}" aria-labelledby="{key}-title"><h2 id="{key}-title">{escape(title)}</h2>'
        f"{bodies[key]}</section>\n"
        for key, title in kept
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<title>{escape(report.title)} - {PROGRAM} report</title>\n<link rel="icon" href="data:,">\n'
        f"<style>{STYLE}</style>\n</head>\n<body>\n"
        '<a class="skip" href="#appliance">Skip to the appliance</a>\n'
        f"{_banner(report)}"
        f'<div class="page">\n{_head(report)}\n'
        f'<div class="body-grid">\n<nav aria-label="Sections of this report"><ol>{links}</ol></nav>\n'
        f"<main>\n{sections}</main>\n</div>\n{_foot(report)}\n</div>\n</body>\n</html>\n"
    )


def _banner(report: Report) -> str:
    if report.banner is None:
        return ""
    text = f"{report.banner[0].upper()}{report.banner[1:]}"
    return f'<p class="banner" role="alert">{escape(text)}.</p>\n'


def _head(report: Report) -> str:
    facts = "".join(
        f'<div><dt>{escape(fact.label)}</dt><dd class="value">{escape(fact.value)}</dd>'
        f"<dd>{escape(fact.more)}</dd></div>"
        for fact in report.facts
    )
    return (
        f'<header>\n<p class="kind">{PROGRAM} report: which force and which couple every tooth gets</p>\n'
        f'<h1>{escape(report.title)}</h1>\n<div class="about">{"".join(map(_p, report.about))}</div>\n</header>\n'
        f'<dl class="facts">{facts}</dl>\n'
        f"<p>{_status(report)}</p>\n"
        f'<p class="caution">{escape(report.cautions[0])}</p>'
    )


def _status(report: Report) -> str:
    """Its first sentence begins with the status itself, but for results made elsewhere."""
    told = " ".join(report.status_words)
    name = (
        ""
        if told.lower().startswith(report.status)
        else f"<strong>Status: {escape(report.status)}.</strong> "
    )
    return name + escape(told)


def _foot(report: Report) -> str:
    return f"<footer><p>{escape(report.cautions[0])}</p></footer>"


def _appliance(report: Report, pictures: Pictures) -> str:
    scene = pictures.scene
    picture = _p(NO_SCENE) if scene is None else _figure(
        scene, "Colour is stress. Straight arrows are forces on the teeth, round ones moments; a pale ghost, where "
        "there is one, is the passive shape.", "scene",
    )  # fmt: skip
    return picture + _h3("Wire") + _terms(report.wire) + _table(report.attachments)


def _forces(report: Report, pictures: Pictures) -> str:
    views = "".join(_figure(one, "", "arch" if pictures.many else one.key) for one in pictures.views)
    legend = _figure(pictures.views_legend, "", "legend")
    note = "" if len(pictures.views) == 3 else _p(
        "In a mesiodistal view of the whole the attachments would stand behind each other: see each slot below."
    )  # fmt: skip
    kind = "" if pictures.many else ' class="views"'
    together = _h3("The attachments together") + _list(report.together) if report.together else ""
    ranges = ""
    if report.ranges:
        title = "Published force ranges for these movements, of one average tooth; no advice"
        ranges = _h3(title) + _list(report.ranges)
    return (
        f"<div{kind}>{views}</div>{legend}{note}"
        f"{_table(report.forces)}{_p(report.forces_note)}"
        f'{_h3("In words")}<div class="words">{"".join(map(_words, report.words))}</div>'
        f"{together}{_table(report.orders)}"
        + _p(
            "Activation: wire to slot before engagement. Engaged: the same once engaged. Play: one-sided from "
            "centred, this order alone. Play left: what is left of it in the engaged pose. A couple needs "
            "opposed contacts."
        )
        + ranges
    )


def _words(item: Words) -> str:
    more = _list(item.more) if item.more else ""
    return f'<div class="keep"><h4>{escape(item.name)}</h4>{_p(" ".join(item.sentences))}{more}</div>'


def _slots(pictures: Pictures) -> str:
    if not pictures.slots:
        return ""
    cards = []
    for one in pictures.slots:
        items = "".join(map(_card_line, one.lines))
        cards.append(
            f'<div class="card"><h3>{escape(one.title)}</h3><div class="body"><figure>{one.markup}</figure>'
            f"<ul>{items}</ul></div></div>"
        )
    legend = "" if pictures.slots_legend is None else _figure(pictures.slots_legend, "", "legend")
    note = (
        "Along the slot's +x, to scale, all at one scale. Round arrow: torque on the tooth about the slot's "
        "length. Angles are those of the wire to the slot, positive about +x, clockwise here; play is "
        "one-sided from centred. The near mouth is the one at -x. Contact forces are summed over each half of "
        "the slot."
    )
    return f'<div class="cards">{"".join(cards)}</div>{_p(note)}{legend}'


def _card_line(line: str) -> str:
    kind = ' class="main"' if line.startswith("third order:") else ""
    return f"<li{kind}>{escape(line)}</li>"


def _stress(report: Report, pictures: Pictures) -> str:
    caption = "Grey bands: the attachments, by their number. Largest stress in each section of the wire."
    return _list(report.stress) + _figure(pictures.stress, caption)


def _way(report: Report, pictures: Pictures) -> str:
    curves = "".join(_figure(one, "") for one in pictures.curves)
    legend = "" if pictures.curves_legend is None else _figure(pictures.curves_legend, "", "legend")
    bench = "" if pictures.bench is None else _figure(pictures.bench, pictures.bench.words)
    further = "".join(
        _figure(one, " ".join(_sentence(line) for line in one.lines)) for one in pictures.further
    )
    words = _list(report.way) if report.way else ""
    grid = f'<div class="pair">{curves}</div>{legend}' if curves else ""
    return grid + further + bench + words + "".join(map(_table, report.path))


def _sentence(line: str) -> str:
    return line if line.endswith(".") else f"{line}."


def _checks(report: Report) -> str:
    accuracy = (
        "" if not report.accuracy else _h3("Error of the division of wire and slots") + _list(report.accuracy)
    )
    return _table(report.checks) + _p(report.checks_note) + accuracy


def _case_text(report: Report) -> str:
    return (
        f'{_h3("The case file as it was read")}<pre tabindex="0" role="region" aria-label="The case file">'
        f"{escape(report.case_text)}</pre>"
    )


def _figure(picture: Picture, caption: str, kind: str = "") -> str:
    inner = picture.markup
    if picture.wide:
        inner = f'<div class="scroll" tabindex="0" role="group" aria-label="{escape(picture.title)}">{inner}</div>'
    told = f"<figcaption>{escape(caption)}</figcaption>" if caption else ""
    named = f' class="{kind}"' if kind else ""
    return f"<figure{named}>{inner}{told}</figure>"


def _table(table: Table) -> str:
    last = len(table.columns) if table.numbers_to is None else table.numbers_to

    def kind(column: int, text: str) -> str:
        if table.numbers_from <= column < last:
            return ' class="number"'
        if text == "does not hold":
            return ' class="wrong"'
        return ' class="long"' if len(text) > 40 else ' class="some"' if len(text) > 12 else ""

    head = "".join(
        f'<th scope="col"{kind(k, "")}>{escape(name)}</th>' for k, name in enumerate(table.columns)
    )
    rows = []
    for row in table.rows:
        cells = "".join(f"<td{kind(k, text)}>{escape(text)}</td>" for k, text in enumerate(row[1:], start=1))
        rows.append(f'<tr><th scope="row"{kind(0, row[0])}>{escape(row[0])}</th>{cells}</tr>')
    return (
        f'<div class="scroll table" tabindex="0" role="region" aria-label="{escape(table.caption)}">'
        f'<table style="--columns:{len(table.columns)}"><caption><span>{escape(table.caption)}</span></caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _terms(pairs: Iterable[tuple[str, str]]) -> str:
    inner = "".join(f"<dt>{escape(term)}</dt><dd>{escape(text)}</dd>" for term, text in pairs)
    return f'<dl class="terms">{inner}</dl>'


def _list(sentences: Iterable[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(one)}</li>' for one in sentences)}</ul>"


def _p(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def _h3(text: str) -> str:
    return f"<h3>{escape(text)}</h3>"

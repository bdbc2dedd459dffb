"""A figure as SVG that can stand in a page: no references outside it, ids of its own, words for who cannot see it."""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree as Tree
from xml.sax.saxutils import escape, quoteattr

from matplotlib.figure import Figure

from cases.show.sheet import style

FONTS = "'DejaVu Sans', Verdana, Geneva, sans-serif"
_SVG, _XLINK = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}"
_DROPPED = {"metadata", "style"}
"""What the drawing library adds: where standards lie on the network, and a style that would hold for a whole page."""


def inline_svg(figure: Figure, key: str, title: str, words: str) -> str:
    """The figure as an ``svg`` element for a page of HTML.

    Every id in it begins with ``key``, which must be one of the page's own; ``title`` and ``words`` are what a
    screen reader says.  The same figure gives the same text."""
    root = Tree.fromstring(svg_text(figure))
    view = root.get("viewBox", "")
    width = float(view.split()[2]) / 72.0
    names = {}
    for element in root.iter():
        name = element.get("id")
        if name is not None:
            names[name] = f"{key}-{re.sub(r'[^A-Za-z0-9_.-]+', '-', name)}"
    taken: set[str] = set()
    body = "".join(_written(child, names, taken) for child in root)
    return (
        f'<svg viewBox="{view}" style="--natural:{width:.2f}in" role="img" '
        f'aria-labelledby="{key}-title {key}-words">'
        f'<title id="{key}-title">{escape(title)}</title><desc id="{key}-words">{escape(words)}</desc>{body}</svg>'
    )


def svg_text(figure: Figure, title: str | None = None, words: str | None = None) -> str:
    """The figure as a whole SVG document, the same for the same figure; what it is called and shows in its metadata."""
    text = io.StringIO()
    about = {"Date": None, "Creator": None, "Title": title, "Description": words}
    with style():
        figure.savefig(
            text,
            format="svg",
            metadata={key: value for key, value in about.items() if value or key == "Date"},
        )
    return text.getvalue()


def _written(element: Tree.Element, names: dict[str, str], taken: set[str]) -> str:
    """``element`` and what is in it, without namespaces."""
    if not isinstance(element.tag, str):
        return ""
    tag = element.tag.removeprefix(_SVG)
    if tag in _DROPPED:
        return ""
    attributes = []
    for key, value in element.attrib.items():
        name = "href" if key == f"{_XLINK}href" else key
        if name == "id":
            value = names[value]
            # the drawing library calls alike things alike
            if value in taken:
                continue
            taken.add(value)
        elif name == "href":
            value = f"#{names[value.removeprefix('#')]}"
        else:
            value = re.sub(r"url\(#([^)]*)\)", lambda found: f"url(#{names[found[1]]})", value)
            if name == "style" and tag in ("text", "tspan"):
                value = value.replace("'DejaVu Sans'", FONTS)
        attributes.append(f" {name}={quoteattr(value)}")
    text = escape(element.text.strip("\n ")) if element.text else ""
    inner = text + "".join(_written(child, names, taken) for child in element)
    opening = f"<{tag}{''.join(attributes)}"
    return f"{opening}>{inner}</{tag}>" if inner else f"{opening}/>"

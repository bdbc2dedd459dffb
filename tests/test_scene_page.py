"""The page that turns a scene: whole in one file, nothing fetched, its numbers those of the scene."""

from __future__ import annotations

import base64
import json
import re
from html.parser import HTMLParser
from typing import Any

import numpy as np
import pytest

from cases.scenes import page
from cases.scenes.buffers import STEPS, packed_part
from cases.show import drawing
from cases.show.look import CUTS, VIEWS, Look
from cases.show.parts import stress_top
from tests import scene_results, show_results

Document = dict[str, Any]


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: dict[str, str] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        tag, attributes = self.tags[-1] if self.tags else ("", {})
        key = f"{tag} {attributes.get('id', '')}".strip()
        self.texts[key] = self.texts.get(key, "") + data


@pytest.fixture(scope="module")
def text() -> str:
    """The page of two brackets on their teeth, from near neither."""
    return page.page_text(scene_results.v_bend(), Look("facial", "facial"), 'a "V-bend" in words')


@pytest.fixture(scope="module")
def read(text: str) -> _Reader:
    reader = _Reader()
    reader.feed(text)
    return reader


@pytest.fixture(scope="module")
def data(read: _Reader) -> Document:
    out: Document = json.loads(read.texts["script data"])
    return out


def _numbers(part: Document, key: str, kind: str) -> np.ndarray:
    return np.frombuffer(base64.b64decode(part[key]), dtype=kind)


def test_nothing_is_fetched(text: str, read: _Reader) -> None:
    """No address in it, but for the name that SVG elements carry (W3C); the page forbids requests itself."""
    assert set(re.findall(r"https?://[^\s\"']*", text)) <= {"http://www.w3.org/2000/svg"}
    for _, attributes in read.tags:
        for name in ("src", "href", "action"):
            assert (attributes.get(name) or "data:").startswith("data:")
    assert not re.search(r"\b(fetch|XMLHttpRequest|WebSocket|importScripts|sendBeacon|import)\s*\(", text)
    (policy,) = [a["content"] for tag, a in read.tags if tag == "meta" and "http-equiv" in a]
    assert policy is not None and policy.startswith("default-src 'none'")


def test_a_reader_who_cannot_see_it_gets_words_values_and_keys(text: str, read: _Reader) -> None:
    (canvas,) = [a for tag, a in read.tags if tag == "canvas"]
    assert canvas["aria-label"] == 'a "V-bend" in words' and canvas["tabindex"] == "0"
    assert canvas["aria-describedby"] == "keys" and 'id="keys"' in text
    for value in ("canine bracket (tooth 13)", "1.84 N (188 gf)", "14.2 N mm (1450 gf mm)"):
        assert f">{value}<" in text
    assert 'lang="en"' in text and "<noscript>" in text


def test_every_control_has_what_it_shows(read: _Reader, data: Document) -> None:
    buttons = [a["data-view"] for tag, a in read.tags if tag == "button"]
    assert buttons == list(VIEWS) == list(data["views"])
    options = [a["value"] for tag, a in read.tags if tag == "option"]
    assert options == [*CUTS, page.WHOLE]
    for cut in options:
        there = {part["what"] for part in data["parts"] if cut in part["cuts"]}
        assert {"wire", "walls", "edges", "pressing", "force", "moment", "tooth", "passive shape"} <= there
        assert ("cut face" in there) is (cut != page.WHOLE)
    # the wire is there once for every cut
    for cut in options:
        assert sum(part["what"] == "wire" and cut in part["cuts"] for part in data["parts"]) == 1
    switches = [a for tag, a in read.tags if tag == "input"]
    assert [a["data-switch"] for a in switches] == [key for key, _, _ in page.SWITCHES]
    # teeth wait until they are asked for
    assert [a["data-switch"] for a in switches if "checked" not in a] == ["teeth"]
    for rows in data["views"].values():
        axes = np.array(rows)
        np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-8)
        assert np.linalg.det(axes) == pytest.approx(1.0)


def test_shapes_are_kept_to_a_micrometre() -> None:
    found = drawing.scene_of(scene_results.v_bend(), Look(teeth=True))
    for part in found.parts:
        packed = packed_part(part, stress_top(found.looked))
        places = _numbers(packed, "places", "<u2").reshape(-1, 3) / STEPS * packed["span"] + packed["low"]
        assert len(places) == packed["points"]
        # every packed point is one of the part's, and the other way round
        own = np.asarray(part.mesh.points, dtype=float)
        from scipy.spatial import cKDTree

        for one, other in ((own, places), (places, own)):
            assert cKDTree(one).query(other)[0].max() < 1e-3
        cells = _numbers(packed, "lines" if part.line is not None else "triangles", "<u2")
        assert cells.max() < packed["points"]
        if part.line is None:
            normals = _numbers(packed, "normals", "<i1").reshape(-1, 3) / 127.0
            np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1.0, atol=0.03)


def test_the_wire_carries_its_stress_in_the_colours_of_the_scale(data: Document) -> None:
    """The most stressed place is the darkest, the least stressed the lightest."""
    wire = next(part for part in data["parts"] if part["what"] == "wire")
    colours = _numbers(wire, "colours", "u1").reshape(-1, 3).astype(float)
    light = colours @ [0.2126, 0.7152, 0.0722]
    x = _numbers(wire, "places", "<u2").reshape(-1, 3)[:, 0] / STEPS * wire["span"][0] + wire["low"][0]
    # the example's stress is largest at x = 3 mm
    assert abs(x[light.argmin()] - 3.0) < 0.3
    assert light[np.abs(x - 3.0) > 4.5].min() > light.max() - 25.0


def test_texts_are_those_of_the_scene_and_stand_at_their_places(data: Document) -> None:
    found = drawing.scene_of(scene_results.v_bend(), Look())
    told = {one["text"]: one for one in data["texts"]}
    assert {"1.84 N (188 gf)", "14.2 N mm (1450 gf mm)", "canine bracket (tooth 13)"} <= set(told)
    (canine, _) = found.marks
    assert canine.arrow is not None
    first = next(one for one in data["texts"] if one["kind"] == "force")
    np.testing.assert_allclose(first["place"], canine.start + canine.arrow, atol=1e-3)
    np.testing.assert_allclose(told["canine bracket (tooth 13)"]["place"], canine.centre, atol=1e-3)
    assert not any(one["kind"] == "pressing" for one in data["texts"])


def test_a_close_page_tells_which_wall_presses_and_a_bad_end_is_told_first() -> None:
    near = page.page_text(scene_results.v_bend(), Look(attachment="canine bracket"), "words")
    assert "upper wall 7.50 N" in near and "lower wall 5.66 N" in near and "in its own axes" in near
    bad = page.page_text(show_results.cantilever("too_many_iterations"), Look(), "words")
    assert bad.index('role="alert"') < bad.index("<h1>") and "do not use these figures" in bad
    quiet = page.page_text(show_results.passive(), Look(), "words")
    assert 'id="stress"' not in quiet.split("<script")[0]


def test_a_page_is_written_alike_twice_and_is_not_large(text: str) -> None:
    again = page.page_text(scene_results.v_bend(), Look("facial", "facial"), 'a "V-bend" in words')
    assert again == text
    assert len(page.page_text(scene_results.arch(8), Look(), "words")) < 15e6

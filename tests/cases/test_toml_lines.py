"""Lines of keys, on TOML as the specification (toml.io, version 1.0.0) allows it."""

from __future__ import annotations

import tomllib
from typing import Any

from cases.casefile import shipped_cases
from cases.toml_lines import key_lines, key_text, line_of

TEXT = '''\
# a comment with [brackets] and = signs
title = "a # that is no comment, and a \\" quote"
literal = 'C:\\no\\escape'
many = """
first = 1
""" # the string above holds no key
raw = \'\'\'
it's "raw" = [
\'\'\'

[wire] # header
section = { shape = "round", "edge.radius" = "0 mm", inner = { deep = 1 } }
passive_shape = [
    { straight = "5 mm" }, # first

    { bend = "1 deg",
      order = "second" },
    [1, [2,
      3]],
]
size.height = 1
"size".depth = 2

[[attachment]]
name = "one"
[attachment.slot]
width = 1

[[attachment]]
  slot.height = 1
  date = 1979-05-27T07:32:00Z
'''


def test_lines() -> None:
    tomllib.loads(
        TEXT.replace('bend = "1 deg",\n      ', 'bend = "1 deg", ')
    )  # TOML 1.0 has inline tables on one line
    lines = key_lines(TEXT)
    expected = {
        ("title",): 2,
        ("literal",): 3,
        ("many",): 4,
        ("raw",): 7,
        ("wire",): 11,
        ("wire", "section", "shape"): 12,
        ("wire", "section", "edge.radius"): 12,
        ("wire", "section", "inner", "deep"): 12,
        ("wire", "passive_shape"): 13,
        ("wire", "passive_shape", 0, "straight"): 14,
        ("wire", "passive_shape", 1, "bend"): 16,
        ("wire", "passive_shape", 1, "order"): 17,
        ("wire", "passive_shape", 2, 1, 1): 19,
        ("wire", "size", "height"): 21,
        ("wire", "size", "depth"): 22,
        ("attachment", 0): 24,
        ("attachment", 0, "name"): 25,
        ("attachment", 0, "slot"): 26,
        ("attachment", 0, "slot", "width"): 27,
        ("attachment", 1): 29,
        ("attachment", 1, "slot", "height"): 30,
        ("attachment", 1, "date"): 31,
    }
    assert {key: lines[key] for key in expected} == expected
    assert ("first",) not in lines


def _keys(value: Any, key: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return {key} | {found for part, item in parts for found in _keys(item, (*key, part))}


def test_finds_every_key_that_tomllib_finds() -> None:
    for path in shipped_cases():
        text = path.read_text(encoding="utf-8")
        assert set(key_lines(text)) == _keys(tomllib.loads(text)) - {()}


def test_windows_line_ends_and_no_final_one() -> None:
    assert key_lines('a = 1\r\n[b]\r\nc = "x"\r\nd = 2')[("b", "d")] == 4


def test_nearest_line_of_a_missing_key() -> None:
    lines = key_lines("[wire]\nmaterial = 1\n")
    assert line_of(lines, ("wire", "section", "height")) == 1
    assert line_of(lines, ("attachment",)) is None


def test_key_text_counts_from_one() -> None:
    assert key_text(("attachment", 1, "slot", "height")) == "attachment 2: slot.height"
    assert key_text(("attachment", 0, "position", 2)) == "attachment 1: position 3"
    assert key_text(("wire", "passive_shape", 0, "bend2", "x")) == "wire.passive_shape 1: bend2.x"

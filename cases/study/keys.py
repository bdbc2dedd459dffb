"""The path of a key of a case file, and a new value put there.

A path is TOML's own dotted key as it would stand at the top of the case file, with one addition, since TOML has no
way to point into a list: square brackets choose an item, by its name in quotes or by its number, counted from 1 as in
every message of the program::

    wire.section.height
    attachment["molar tube"].slot.height      attachment[1].slot.height
    attachment["molar tube"].position.y       wire.passive_shape[2].bend

A name is surer than a number: it still means the same where an attachment has been put in before it.  Of three lengths
x, y and z choose one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cases.reader import listing, nearest
from cases.toml_lines import Key

_TOKEN = re.compile(
    r"""(?P<dot>\.)?(?P<name>[A-Za-z0-9_-]+)|\[\s*(?:(?P<number>\d+)|"(?P<double>[^"]*)"|'(?P<single>[^']*)')\s*\]"""
)
AXES = ("x", "y", "z")


@dataclass(frozen=True, slots=True)
class BadKey(ValueError):
    """A path that leads to nothing: what is wrong, and what to do."""

    message: str
    remedy: str


def resolve(path: str, data: Mapping[str, Any]) -> Key:
    """The key that ``path`` means in the tables of a case file.

    The last part may be missing there: then it is one that the case leaves at its default, and the case's own reader
    says whether there is such a key.  Raises BadKey.
    """
    key: Key = ()
    node: Any = data
    steps = _steps(path)
    for place, step in enumerate(steps):
        here = _text(key) or "the case file"
        if isinstance(node, dict):
            step = _in_table(node, step, here, place == len(steps) - 1)
        elif isinstance(node, list):
            step = _in_list(node, step, here, data)
        else:
            raise BadKey(
                f"{here} is a value and has no keys inside",
                f"write a path that ends at {here}, or make it a table",
            )
        key = (*key, step)
        node = node.get(step) if isinstance(node, dict) else node[step]
    return key


def with_value(node: Any, key: Key, value: object) -> Any:
    """The tables ``node`` with ``value`` at ``key``; only what lies on the way is copied, the rest is shared."""
    head, rest = key[0], key[1:]
    copy: Any = dict(node) if isinstance(node, dict) else list(node)
    copy[head] = with_value(node[head], rest, value) if rest else value
    return copy


def _steps(path: str) -> list[str | int]:
    """The parts of a path: names as they stand, numbers as int from 0, names of items as '"name'."""
    steps: list[str | int] = []
    at = 0
    while at < len(path):
        found = _TOKEN.match(path, at)
        if found is None or (found["name"] is not None and bool(found["dot"]) != bool(steps)):
            raise BadKey(
                f'"{path}" is no path of a key: it cannot be read from "{path[at:]}" on',
                "write it like 'wire.section.height' or 'attachment[\"molar tube\"].slot.height', in single quotes",
            )
        if found["name"] is not None:
            steps.append(found["name"])
        elif found["number"] is not None:
            if found["number"].strip("0") == "":
                raise BadKey(f'"{path}" counts from 0', "count from 1")
            steps.append(int(found["number"]) - 1)
        else:
            steps.append('"' + (found["double"] if found["double"] is not None else found["single"]))
        at = found.end()
    if not steps:
        raise BadKey("an empty path", "write it like 'wire.section.height'")
    return steps


def _in_table(node: Mapping[str, Any], step: str | int, here: str, last: bool) -> str:
    if isinstance(step, int) or step.startswith('"'):
        raise BadKey(f"{here} is a table, not a list", "go on with a dot and the name of a key")
    if step not in node and not last:
        near = nearest(step, list(node))
        known = f"there are: {', '.join(node)}"
        raise BadKey(
            f'there is no "{step}" in {here}', f'did you mean "{near}"? ({known})' if near else known
        )
    return step


def _in_list(node: list[Any], step: str | int, here: str, data: Mapping[str, Any]) -> int:
    if isinstance(step, str) and not step.startswith('"'):
        if step in AXES and len(node) == len(AXES) and not any(isinstance(item, dict) for item in node):
            return AXES.index(step)
        how = ".x, .y or .z" if len(node) == len(AXES) and not isinstance(node[0], dict) else "[1]"
        names = [
            item["name"] for item in node if isinstance(item, dict) and isinstance(item.get("name"), str)
        ]
        how = f'["{names[0]}"]' if names else how
        raise BadKey(f"{here} is a list", f"choose one of it first: {here}{how}")
    if isinstance(step, int):
        if step >= len(node):
            raise BadKey(
                f"{here} has {len(node)} items, not {step + 1}", f"write a number from 1 to {len(node)}"
            )
        return step
    name = step[1:]
    names = [item.get("name") if isinstance(item, dict) else None for item in node]
    if name in names:
        return names.index(name)
    known = [known for known in names if isinstance(known, str)]
    near = nearest(name, known)
    there = f"there are: {listing([repr(one) for one in known])}" if known else "its items have no names"
    if "tooth_table" in data and here == "attachment":
        there += "; what stands in the tooth table is no key: write it as an [[attachment]] of the case"
    raise BadKey(f'{here} has none called "{name}"', f'did you mean "{near}"? ({there})' if near else there)


def _text(key: Key) -> str:
    """The key as a path again."""
    text = ""
    for part in key:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text

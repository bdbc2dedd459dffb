"""A candidate as a case file: the tables of the case with its values, written as TOML."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cases.schema import Case

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def case_text(data: Mapping[str, Any], case: Case, folder: Path, head: str) -> str:
    """TOML for a case file in ``folder``; ``head`` is what its first remark says.

    Files that the case draws from are named from there."""
    names = {file.name: _from(folder, case.path.parent / file.name) for file in case.data_files}
    data = _renamed(data, names)
    lines = [f"# {line}".rstrip() for line in head.splitlines()]
    plain = {key: value for key, value in data.items() if not _is_table(value)}
    lines += ["", *(f"{_key(key)} = {_value(value)}" for key, value in plain.items())]
    for key, value in data.items():
        if key in plain:
            continue
        for table, opened in (
            [(value, f"[{_key(key)}]")]
            if isinstance(value, dict)
            else [(item, f"[[{_key(key)}]]") for item in value]
        ):
            lines += ["", opened, *(f"{_key(name)} = {_long(inner)}" for name, inner in table.items())]
    return "\n".join(lines) + "\n"


def _from(folder: Path, file: Path) -> str:
    return Path(os.path.relpath(file.resolve(), folder.resolve())).as_posix()


def _renamed(value: Any, names: Mapping[str, str]) -> Any:
    if isinstance(value, dict):
        return {key: _renamed(inner, names) for key, inner in value.items()}
    if isinstance(value, list):
        return [_renamed(inner, names) for inner in value]
    return names.get(value, value) if isinstance(value, str) else value


def _is_table(value: object) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and bool(value) and all(isinstance(item, dict) for item in value)
    )


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def _long(value: object) -> str:
    """A value, each table of a list on a line of its own."""
    if isinstance(value, list) and _is_table(value):
        return "[\n" + "".join(f"    {_value(item)},\n" for item in value) + "]"
    return _value(value)


def _value(value: object) -> str:
    if isinstance(value, dict):
        inner = ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # the escapes of JSON are those of TOML, but that a control character is never left as it is
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return repr(value)

"""Study files for tests, beside the shipped case of torque through play; all invented."""

from __future__ import annotations

from pathlib import Path

from cases.casefile import LIBRARY
from cases.study.studyfile import Study, load_study
from tests.case_texts import MATERIAL

CASE = LIBRARY / "torque-through-play.toml"
SLOT = 'attachment["lateral incisor bracket"].slot.height'

SHORT = f"""
title = "A short wire twisted between two slots (invented)"
[wire]
material = {MATERIAL}
section = {{ shape = "rectangle", height = "0.48 mm", depth = "0.63 mm" }}
passive_shape = [{{ straight = "9 mm" }}]
seated_in = "left"
[[attachment]]
name = "left"
kind = "bracket"
slot = {{ height = "0.56 mm", depth = "0.71 mm", width = "2 mm" }}
position = ["0 mm", "0 mm", "0 mm"]
at = "1.5 mm"
stop = true
[[attachment]]
name = "right"
kind = "bracket"
slot = {{ height = "0.56 mm", depth = "0.71 mm", width = "2 mm" }}
position = ["6 mm", "0 mm", "0 mm"]
at = "7.5 mm"
[analysis]
increments = 2
"""


def vary(key: str, *lines: str) -> str:
    """One [[vary]] table."""
    return "\n".join(("[[vary]]", f"key = '{key}'", *lines))


def normal(key: str, mean: float, deviation: float, unit: str = "in") -> str:
    """A key with a normal distribution."""
    return vary(
        key, 'distribution = "normal"', f'mean = "{mean!r} {unit}"', f'deviation = "{deviation!r} {unit}"'
    )


def sample(design: str, count: int, seed: int = 1) -> str:
    """The [sample] table."""
    return f'[sample]\ndesign = "{design}"\ncount = {count}\nseed = {seed}'


def text_of(*parts: str, compute: str = "play", case: Path = CASE) -> str:
    """A whole study file."""
    return (
        "\n".join((f'title = "A test study (invented)"\ncase = "{case}"\ncompute = "{compute}"', *parts))
        + "\n"
    )


def study_of(folder: Path, *parts: str, compute: str = "play", case: Path = CASE, yes: bool = True) -> Study:
    """The study, read as from a file in ``folder``."""
    path = folder / "study.toml"
    path.write_text(text_of(*parts, compute=compute, case=case), encoding="utf-8")
    return load_study(path, yes)

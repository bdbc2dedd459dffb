"""Cases that are drawn in tests and are not shipped: shipped ones with something changed, solved once for a process."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

from cases import load_case
from cases.run import Run, whole_run
from cases.schema import Case
from tests import shipped

SOFT, BACK = "torque through play in slots that open", "v-bend that goes back"


@cache
def case(name: str) -> Case:
    """One of the two above, else the shipped case of this name."""
    if name == SOFT:
        text = shipped.case("torque-through-play").source_text
        return _read(text.replace('kind = "bracket"', 'kind = "bracket"\nwall_modulus = "2000 MPa"'), "soft")
    if name == BACK:
        text = shipped.case("v-bend").source_text
        return _read(text + '\n[[stage]]\nname = "back by three quarters"\nback = "75 %"\n', "back")
    return shipped.case(name)


def _read(text: str, stem: str) -> Case:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{stem}.toml"
        path.write_text(text, encoding="utf-8")
        return load_case(path)


@cache
def run(name: str) -> Run:
    """It with its mechanics."""
    return whole_run(case(name))

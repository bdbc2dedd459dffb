"""The pictures of README.md, drawn from shipped cases: ``bash scripts/figures`` (``--list``: what it draws).

Each picture lies in ``cases/library/pictures`` under the name of its case, with its numbers beside it as CSV.  A test
solves the cases again and compares those numbers, so a picture that is out of date does not pass.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from cases import load_case, run_case
from cases.casefile import LIBRARY
from cases.show.closed_form import closed_forms
from cases.show.names import DATA, SCENE, SCENE_LOADS
from cases.show.pictures import draw_chosen

PICTURES = LIBRARY / "pictures"
CHOSEN = {
    "molar-uprighting": ("wire",),
    "torque-through-play": ("slots", "activation"),
    "closing-loop": ("views",),
    "levelling-lower-arch": ("wire",),
}
"""By shipped case, which of its pictures the README shows."""


def names_of(case: str, picture: str) -> dict[str, str]:
    """What a picture and its numbers are called by a run, and what here."""
    data = SCENE_LOADS if f"{picture}.png" == SCENE else picture + DATA
    return {f"{picture}.png": f"{case}-{picture}.png", data: f"{case}-{picture}{DATA}"}


def draw(folder: Path = PICTURES) -> list[Path]:
    """Solve every case and write its pictures."""
    written: list[Path] = []
    for name, pictures in CHOSEN.items():
        case = load_case(LIBRARY / f"{name}.toml")
        names = {old: new for picture in pictures for old, new in names_of(name, picture).items()}
        written += draw_chosen(run_case(case), folder, names, closed_forms(case))
    return written


def main(arguments: Sequence[str]) -> int:
    """Draw, or only name what would be drawn."""
    if list(arguments) not in ([], ["--list"]):
        print("usage: bash scripts/figures [--list]", file=sys.stderr)
        return 2
    if arguments:
        found = [names_of(name, picture) for name, pictures in CHOSEN.items() for picture in pictures]
        print("\n".join(str(PICTURES / new) for names in found for new in names.values()))
    else:
        print("\n".join(map(str, draw())))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""The pictures of README.md, drawn from shipped cases and bench tests: ``bash scripts/figures`` (``--list``: which).

Each picture lies in ``cases/library/pictures`` under the name of its case, with its numbers beside it as CSV.  A test
solves the cases again and compares those numbers, so a picture that is out of date does not pass.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from cases import load_case, run_case
from cases.bench_tests.bend_readings import bend_table, carry_out_bend
from cases.bench_tests.command import assumptions, subject, title
from cases.bench_tests.question import read_question
from cases.casefile import LIBRARY
from cases.files import Writer, write_whole
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
BENDS = {
    "superelastic-three-point": {"--material": "superelastic-nickel-titanium", "--section": "0.016 in"},
}
"""Three-point tests that it shows, by the picture's name: what ``wireslot bench-test three-point`` is given."""


def all_files() -> list[Path]:
    """Every file that is drawn."""
    found = [names_of(name, picture) for name, pictures in CHOSEN.items() for picture in pictures]
    names = [new for names in found for new in names.values()]
    return [
        PICTURES / name for name in (*names, *(f"{bend}{end}" for bend in BENDS for end in (".png", DATA)))
    ]


def names_of(case: str, picture: str) -> dict[str, str]:
    """What a picture and its numbers are called by a run, and what here."""
    data = SCENE_LOADS if f"{picture}.png" == SCENE else picture + DATA
    return {f"{picture}.png": f"{case}-{picture}.png", data: f"{case}-{picture}{DATA}"}


def bend_writers(name: str) -> dict[str, Writer]:
    """The picture of a three-point test and its numbers, by what they are called here."""
    from cases.show.bench_test_figure import draw_bench_test
    from cases.show.study_sheet import save_study

    done = carry_out_bend(read_question("three-point", BENDS[name], (), cycles=1, both_ways=False))
    heading = title(done.test)
    sheet = draw_bench_test(done, heading, subject(done.test), assumptions(done.test))
    return {
        f"{name}.png": lambda path: save_study(sheet, heading, path),
        f"{name}{DATA}": bend_table(done).write,
    }


def draw(folder: Path = PICTURES) -> list[Path]:
    """Solve every case and write its pictures."""
    written: list[Path] = []
    for name, pictures in CHOSEN.items():
        case = load_case(LIBRARY / f"{name}.toml")
        names = {old: new for picture in pictures for old, new in names_of(name, picture).items()}
        written += draw_chosen(run_case(case), folder, names, closed_forms(case))
    for name in BENDS:
        written += write_whole(folder, bend_writers(name))
    return written


def main(arguments: Sequence[str]) -> int:
    """Draw, or only name what would be drawn."""
    if list(arguments) not in ([], ["--list"]):
        print("usage: bash scripts/figures [--list]", file=sys.stderr)
        return 2
    if arguments:
        print("\n".join(map(str, all_files())))
    else:
        print("\n".join(map(str, draw())))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

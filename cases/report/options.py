"""The arguments of ``wireslot report`` and ``wireslot figure``, and their help; loads nothing, so help is quick."""

from __future__ import annotations

import argparse
from pathlib import Path

WHAT = ("facial", "occlusal", "mesiodistal", "slot", "force", "first", "second", "third", "stress", "bench")
STYLES = ("slide", "paper")

REPORT_EPILOGUE = """\
Examples:
  wireslot report case.toml --out results
      solves the case; its numbers and results/report.html
  wireslot report case.toml --results results
      the same page from what 'wireslot run' has stored there, unsolved

Writes report.html: one file with everything in it, that opens without a
network and prints on A4 and Letter. It says the question, the appliance, the
force systems in three views and in words, every slot seen mesiodistally, the
stress, the curves along the activation, checks with their differences,
assumptions, cautions and provenance. No script; every picture has its numbers
in words for who cannot see it. Without --out it goes into the folder of
--results, or into a new one called as the case file. Stored results must be
those of this very case file and the files that it names: their fingerprints
are compared. Published work should cite the numbers of result.json.
Exit codes: 0 done, 1 the page is written but the wire could not be drawn, 2
case file or results that do not fit, 3 no equilibrium: nothing is written."""


FIGURE_EPILOGUE = """\
Examples:
  wireslot figure case.toml --what facial --style slide
      figure-facial-slide.png and .svg in this folder
  wireslot figure case.toml --what slot --attachment "molar tube" --style paper --results results --out figures
      from stored results, without solving

What: facial, occlusal, mesiodistal (the views with their arrows), slot (one
slot, seen mesiodistally), force, first, second, third (along the activation:
the force, the moment of each order), stress (along the wire), bench (a bench
test against its travel).
Styles: slide, 13.33 x 7.5 in, texts of 18 pt or more; paper, 6.3 in wide as
printed, texts of 8 pt or more. Each as .png and .svg, with title and caution.
Exit codes: 0 done, 2 case file, results that do not fit, or a figure that this
case does not have or that has no room, 3 no equilibrium: nothing is written."""


def report_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot report``."""
    _case_and_folders(command, "folder for report.html, and for the numbers where the case is solved")


def figure_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot figure``."""
    _case_and_folders(command, "folder for the figure; this one unless given")
    command.add_argument("--what", choices=WHAT, required=True, help="which figure")
    command.add_argument("--style", choices=STYLES, required=True, help="for a slide or for print")
    command.add_argument(
        "--attachment", metavar="NAME", help="with --what slot: whose; the first with a torque unless given"
    )


def _case_and_folders(command: argparse.ArgumentParser, what: str) -> None:
    command.add_argument("case", type=Path, metavar="CASE", help="the case file (TOML)")
    command.add_argument("--out", type=Path, metavar="DIR", help=what)
    command.add_argument(
        "--results",
        type=Path,
        metavar="DIR",
        help="folder of stored results of this case; then nothing is solved",
    )

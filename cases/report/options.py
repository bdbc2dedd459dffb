"""The arguments of ``wireslot report`` and ``wireslot figure``, and their help; loads nothing, so help is quick."""

from __future__ import annotations

import argparse
from pathlib import Path

WHAT = (
    "facial", "occlusal", "mesiodistal", "slot", "force", "first", "second", "third", "ratio", "torque", "back",
    "stress", "walls", "bench",
)  # fmt: skip
STYLES = ("slide", "paper")
ANIMATED = ("facial", "occlusal", "mesiodistal", "slot")

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
  wireslot figure case.toml --what torque --study study --measured rig.csv --style paper
      with the band of a study, and a measured curve over it

What: facial, occlusal, mesiodistal (the views with their arrows), slot (one
slot, seen mesiodistally), force, first, second, third (along the activation:
the force, the moment of each order), ratio (moment over force), torque
(against the angle of activation, with the stretch that play takes; --study adds
a band of tolerance), back (force and moment in and back, where a stage goes
back), stress (along the wire), walls (how far slots open whose walls give way),
bench (a bench test against its travel).
--measured and --theory lay points over a curve and tell how far it is from them:
validation against measurement, verification against theory. A CSV file with
the columns activation_percent and force_N, moment_Nmm or ratio_mm; of torque
angle_deg,moment_Nmm; of bench also travel_mm,force_N; a third column, like
plus_minus_Nmm, for the uncertainty; a remark "# source: ..." for their origin.
Styles: slide, 13.33 x 7.5 in, texts of 18 pt or more; paper, 6.3 in wide as
printed, texts of 8 pt or more. Each as .png and .svg, with title and caution,
and its numbers as .csv.
Exit codes: 0 done, 2 case file, results that do not fit, or a figure that this
case does not have or that has no room, 3 no equilibrium: nothing is written."""


ANIMATE_EPILOGUE = """\
Examples:
  wireslot animate case.toml --view facial --out film
      solves the case; film/animation-facial.gif and .webp
  wireslot animate case.toml --view slot --attachment "canine bracket" --results results
      one slot, seen mesiodistally, from what 'wireslot run' has stored

The engagement as an animated picture, 1280 x 720 pixels, texts of 18 pt on a
slide: the wire, the arrows, and beside them force and moment as they grow.
Every picture is a solved increment, none is drawn between two; more of them
(increments in the case file) make it smoother. Scale and arrows are those of
the whole way. GIF for slides, WebP (sharper and smaller) for pages; the loads
of every picture as .csv. Needs no display.
Exit codes: 0 done, 2 case file, results or slot that do not fit, 3 no
equilibrium: nothing is written."""


def animate_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot animate``."""
    _case_and_folders(command, "folder for the animation; this one unless given")
    command.add_argument("--view", choices=ANIMATED, default="facial", help="which view; facial unless given")
    command.add_argument(
        "--attachment", metavar="NAME", help="with --view slot: whose; the largest torque unless given"
    )


def report_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot report``."""
    _case_and_folders(command, "folder for report.html, and for the numbers where the case is solved")


def figure_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot figure``."""
    _case_and_folders(command, "folder for the figure; this one unless given")
    command.add_argument("--what", choices=WHAT, required=True, help="which figure")
    command.add_argument("--style", choices=STYLES, required=True, help="for a slide or for print")
    command.add_argument(
        "--attachment", metavar="NAME",
        help="whose, with --what slot, torque, back, and with points laid over; the most loaded unless given",
    )  # fmt: skip
    command.add_argument(
        "--measured", type=Path, metavar="FILE", help="measured points to lay over the curve (CSV)"
    )
    command.add_argument(
        "--theory", type=Path, metavar="FILE", help="published points of a theory, likewise (CSV)"
    )
    command.add_argument(
        "--study",
        type=Path,
        metavar="DIR",
        help="with --what torque: folder of a study, for a band of tolerance",
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

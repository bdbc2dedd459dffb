"""The arguments of ``wireslot factor`` and ``wireslot compare``, and their help; loads nothing, so help is quick."""

from __future__ import annotations

import argparse
from pathlib import Path

FACTOR_EPILOGUE = """\
Examples:
  wireslot factor
      the list of studies, each with its question
  wireslot factor bracket-width --out width
      one study: the table, and in width/ factor.csv, factor.png, factor.svg
  wireslot factor distance --values "12 mm, 16 mm, 20 mm"
      the same with other values of the factor
  wireslot factor alloy --case case.toml --out alloy
      your own case as the base, with each alloy in turn

A study changes one factor of an appliance and keeps the rest: force, couple,
moment-to-force ratio and load-deflection rate, beside the small-deflection
formula, with its source, and the difference in percent. The appliances are
invented, with sizes as usual in the trade. With --case (alloy, wire-size,
bracket-width, play, edge-radius) your case is changed instead: force and
couple on one attachment, by default the one with the largest moment. Some
seconds each; without --out nothing is written.
Exit codes: 0 done, 2 options or case file, 3 no equilibrium found at all,
4 none found for some values: these are missing and said."""

COMPARE_EPILOGUE = """\
Examples:
  wireslot compare a.toml b.toml
      two appliances side by side, attachment by attachment
  wireslot compare a.toml b.toml c.toml --out compared
      three, with compared/compare.csv, compare.png and compare.svg

Two to six cases. Attachments of one name belong together, else those on one
tooth; what has no partner is said and stands alone. For each: force, moment
in all three orders, moment-to-force ratio, and how the run ended. Without
--out nothing is written.
Exit codes: 0 done, 2 a case file, or cases with nothing in common, 3 no
equilibrium found in any, 4 none found in some of them: this is said."""


def factor_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot factor``."""
    command.add_argument("name", nargs="?", metavar="NAME", help="the study; without it: the list")
    command.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for factor.csv, factor.png and factor.svg"
    )
    command.add_argument(
        "--values", metavar="LIST", help='other values of the factor, with commas between, like "2 mm, 3 mm"'
    )
    command.add_argument("--case", type=Path, metavar="CASE", help="a case file to change instead")
    command.add_argument("--attachment", metavar="NAME", help="with --case: the attachment to look at")
    command.add_argument(
        "--order",
        choices=("first", "second", "third"),
        help="with --case: the order of the couple to look at",
    )


def compare_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot compare``."""
    command.add_argument("cases", type=Path, nargs="+", metavar="CASE", help="case files (TOML), two to six")
    command.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for compare.csv, compare.png and compare.svg"
    )

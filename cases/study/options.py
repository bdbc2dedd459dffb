"""The arguments of ``wireslot study`` and its help; loads nothing, so help is quick."""

from __future__ import annotations

import argparse
from pathlib import Path

STUDY_EPILOGUE = """\
Example:
  wireslot study torque-tolerance.toml --out tolerance
      what tolerances of slots and wire leave of a torque; it is shipped in
      cases/library/studies

A study file names a case and says which of its keys vary, and how:

  title = "Torque with tolerances"
  case = "torque-through-play.toml"      # from the study file's folder
  [sample]
  design = "latin hypercube"             # random, sobol, sobol indices
  count = 200
  seed = 1
  [[vary]]
  key = 'attachment["lateral incisor bracket"].inclination'
  grid = { from = "0 deg", to = "30 deg", count = 7 }
  [[vary]]
  key = 'wire.section.height'            # or wire.passive_shape[2].bend
  distribution = "normal"
  mean = "0.019 in"
  deviation = "0.0002 in"

led = true in a grid leads every appliance through its values, one after the
other, as a rig does: a curve of 12 angles costs about as much as one angle.
stress = true at the top adds the largest stress and its share of the yield.

Into DIR: rows.csv and rows.parquet, every row with its inputs, its status and
the force and moment on every attachment; summary.json, summary.csv; figures.
Rows are written as they finish. An interrupted study goes on where it was when
the same command is given again, and ends with the same table.
A wire that does not fit, or a row without equilibrium, is a row.
Exit codes: 0 done, 1 a defect in some row, 2 study file, case file or folder,
130 stopped by Ctrl-C: the rows stand."""


def study_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot study``."""
    command.add_argument("study", type=Path, metavar="FILE", help="the study file (TOML)")
    command.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="DIR",
        help="folder for the table, the summary and the figures",
    )
    command.add_argument(
        "--jobs", type=int, default=1, metavar="N", help="rows solved at a time, as threads; 1 unless given"
    )
    command.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="solve the rows on the workers of the Dask scheduler there, like tcp://10.0.0.1:8786 (needs: bash "
        "scripts/setup cluster)",
    )
    command.add_argument("--yes", action="store_true", help="more than 2000 rows are meant")
    command.add_argument("--no-pictures", action="store_true", help="numbers only, no figures")

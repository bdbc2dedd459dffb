"""Arguments of ``wireslot run`` and their help; imports nothing heavy."""

from __future__ import annotations

import argparse
from pathlib import Path

RUN_EPILOGUE = """\
Examples:
  wireslot run case.toml --out results
  wireslot run case.toml --out results --no-pictures
  wireslot run case.toml --out results --solids
  wireslot run case.toml --out results --refine 0.1

Engages the wire in its attachments, in increments, and prints the force and
moment on every tooth, in numbers and in words. Writes into DIR:
  result.json   everything, with units, sign conventions and provenance
  path.csv      the force systems, increment by increment
  wire.csv      the engaged wire, node by node
  wire.vtu      the same for a mesh viewer
  frames.json.gz  wire and loads moment by moment, for 'wireslot animate'
  wire.png      the stressed wire in its slots, forces and couples
  slots.png     mesiodistal view of every slot: play, contacts, torque
  views.png     facial, occlusal and mesiodistal views with forces and couples
  activation.png  forces and couples against activation
The last three also as .svg; the numbers of every picture beside it as .csv.
With --solids:
  solids.pvd    the series of solid meshes, wire_solid_NNN.vtu and
                attachments_NNN.vtu, for mesh viewers
  wire_solid.msh, attachments.msh   full activation, for Gmsh
A second solve on a finer mesh estimates how far forces and moments may be off;
--refine goes on until that is below so many percent of the largest, or ends
with exit code 6 where no mesh reaches it (the last one's results are written).
How far the published range of Young's modulus moves the loads is told; where
they are not proportional to it, --modulus-range solves twice more for that.
Files appear whole or not at all. Where no equilibrium is found (exit code 3)
nothing is written. The first run compiles the mechanics: about a minute."""


def run_arguments(command: argparse.ArgumentParser) -> None:
    """What it takes."""
    command.add_argument("case", type=Path, metavar="CASE", help="the case file (TOML)")
    command.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="DIR",
        help="folder for the results; made if it is not there",
    )
    command.add_argument("--no-pictures", action="store_true", help="numbers only, no pictures")
    accuracy = command.add_mutually_exclusive_group()
    accuracy.add_argument(
        "--no-estimate", action="store_true", help="no second solve for the error of the mesh"
    )
    accuracy.add_argument(
        "--refine",
        type=_percent,
        metavar="PERCENT",
        help="finer meshes until the error of every force and moment is estimated below this, like 0.1",
    )
    command.add_argument(
        "--modulus-range",
        action="store_true",
        help="solve again at both ends of the published range of the alloy's Young's modulus, where loads are not "
        "proportional to it",
    )
    command.add_argument(
        "--solids", action="store_true", help="solid meshes too, increment by increment, with their stress"
    )


def _percent(text: str) -> float:
    try:
        value = float(text.removesuffix("%"))
    except ValueError:
        value = 0.0
    if not 0.0 < value <= 100.0:
        raise argparse.ArgumentTypeError(
            f'expected a percentage above 0 and at most 100, like "0.1": got "{text}"'
        )
    return value

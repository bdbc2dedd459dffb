"""The arguments of ``wireslot bench-test`` and their help; loads nothing, so help is quick."""

from __future__ import annotations

import argparse
from pathlib import Path

KINDS = ("tension", "bending", "torsion", "three-point")
RANGES = "ranges"

BENCH_TEST_EPILOGUE = """\
Examples:
  wireslot bench-test tension --material superelastic-nickel-titanium \\
      --section "0.016 in" --temperature "37 degC" --out tension
      to 6 % strain and back: the flag, plateaus read as ASTM F2516 does
  wireslot bench-test bending --material stainless-steel \\
      --section "0.017 x 0.025 in" --to "2 %" --out bending
      2 % in the outermost fibre, and what curvature is left
  wireslot bench-test torsion --material beta-titanium \\
      --section "0.017 x 0.025 in" --length "10 mm" --to "90 deg" --out torsion
      a piece of wire twisted and let go
  wireslot bench-test tension --material superelastic-nickel-titanium \\
      --section "0.016 in" --set loading_start="480 MPa" --out other
      one constant of the alloy changed

  wireslot bench-test three-point --material superelastic-nickel-titanium \\
      --section "0.016 in" --out iso
      over a span of 10 mm, down to 3.1 mm and back, read as ISO 15841 does
  wireslot bench-test three-point --material superelastic-nickel-titanium \\
      --section "0.016 in" --measured curve.csv --fit all --out fitted
      the constants of the alloy from a measured curve, with their uncertainty
  wireslot bench-test ranges --out ranges
      the library's alloys beside published ranges: unloading forces, moduli,
      springback, stiffness, multistrand wires; without --out printed only

A straight piece of wire is strained evenly along its length, from rest to --to
and back until nothing acts, --cycles times, with --both-ways also to the other
side. Bending and torsion leave the axial force at zero. Sections are height x
depth; bending in second order bends the height, in first order the depth.
Three-point bending lays it on two fixed edges and pushes its middle down: the
wire slides over the edges and may leave them. --measured names a CSV file with
the columns deflection_mm,force_N, out and back; --fit finds constants from it
("all": the usual ones), beginning from the library's and those of --set.
Ranges takes no other option: each range is met, met within the ranges of the
alloys' constants, or not met, with the reason; in some fifteen seconds.
Writes into DIR:
  bench_test.csv    the curve, step by step
  bench_test.json   readings, constants of the alloy with source, provenance
  bench_test.png    the curve, also as .svg
or published_ranges.csv, .json, .png and .svg.
Materials: the alloys of the library that yield, and superelastic nickel-
titanium. Yielding of martensite is not modelled: no wire breaks here.
Exit codes: 0 done, 2 options that make no question, 3 no equilibrium found."""


def bench_test_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot bench-test``."""
    command.add_argument("kind", choices=(*KINDS, RANGES), help="what is done to the wire")
    command.add_argument("--material", metavar="ALLOY", help="an alloy of the library")
    command.add_argument(
        "--section",
        metavar="SIZE",
        help='"0.017 x 0.025 in" (height x depth), or one diameter',
    )
    command.add_argument(
        "--edge-radius",
        metavar="LENGTH",
        help='radius of the wire\'s edges, like "0.05 mm"; sharp unless given',
    )
    command.add_argument(
        "--temperature", metavar="TEMPERATURE", help='like "37 degC", which it is unless given'
    )
    command.add_argument(
        "--to",
        metavar="VALUE",
        help='how far: strain, in bending of the outermost fibre ("6 %%"); turn in torsion ("90 deg"); deflection on '
        'three points ("3.1 mm")',
    )
    command.add_argument(
        "--length", metavar="LENGTH", help='torsion: length that is twisted; "10 mm" unless given'
    )
    command.add_argument(
        "--order",
        choices=("first", "second"),
        help="bending: first order bends the depth; second unless given",
    )
    command.add_argument(
        "--span", metavar="LENGTH", help='three-point: between the edges; "10 mm" unless given'
    )
    command.add_argument(
        "--edge", metavar="LENGTH", help='three-point: radius of the edges; "0.1 mm" unless given'
    )
    command.add_argument(
        "--friction", type=float, metavar="MU", help="three-point: of the edges; none unless given"
    )
    command.add_argument(
        "--measured", metavar="FILE", help="three-point: a measured curve (CSV), laid over the computed one"
    )
    command.add_argument(
        "--fit",
        metavar="KEYS",
        help='three-point: constants to be found from it, with commas between, or "all"',
    )
    command.add_argument("--cycles", type=int, default=1, metavar="N", help="how often; once unless given")
    command.add_argument("--both-ways", action="store_true", help="each time to the other side too")
    command.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="another value for a constant of the alloy; may be given several times",
    )
    command.add_argument("--out", type=Path, metavar="DIR", help="folder for the results")

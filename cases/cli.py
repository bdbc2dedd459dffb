"""The command ``wireslot``: its arguments, its help, its exit codes; ``cases.commands`` does the work.

Exit codes: 0 done, 1 a defect of ours, 2 usage or case file, 3 no equilibrium found or a check of ``wireslot
verify`` that differs, 5 something is missing on this machine (``wireslot doctor``; 1 would call it a defect), 6 a
wanted accuracy not reached (``wireslot run --refine``), 7 a wanted force system not met (``wireslot target``), 130
stopped by Ctrl-C.
``wireslot --help`` answers at once: everything heavy is imported where it is used, and the arguments are read
by argparse, which starts in half the time of cyclopts.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from cases import commands
from cases.bench_tests.options import BENCH_TEST_EPILOGUE, bench_test_arguments
from cases.commands import DEFECT, DONE, INTERRUPTED, TRACEBACK_VARIABLE, USAGE, say, wants_traceback
from cases.errors import WireslotError
from cases.report.options import (
    ANIMATE_EPILOGUE,
    FIGURE_EPILOGUE,
    REPORT_EPILOGUE,
    animate_arguments,
    figure_arguments,
    report_arguments,
)
from cases.run_options import RUN_EPILOGUE, run_arguments
from cases.scenes.options import EPILOGUE as SCENE_EPILOGUE
from cases.scenes.options import scene_arguments
from cases.studies.options import COMPARE_EPILOGUE, FACTOR_EPILOGUE, compare_arguments, factor_arguments
from cases.study.options import STUDY_EPILOGUE, study_arguments
from cases.target.options import TARGET_EPILOGUE, target_arguments

EPILOGUE = """\
Examples:
  wireslot new case.toml
      a case file to start from: it runs, and its remarks explain every key
  wireslot check case.toml
      is the case file sound?
  wireslot run case.toml --out results
      solve it; result.json, tables and pictures go into results/
  wireslot play --table
      how far the usual wires turn in the usual slots
  wireslot formula torque-play
      a closed form: its inputs, equation, source and range
  wireslot verify
      what the program computes beside what others publish
  wireslot factor bracket-width --out width
      what one factor does to force and couple; alone: the list of studies
  wireslot compare a.toml b.toml --out compared
      appliances side by side
  wireslot study study.toml --out study
      one case many times: grids, tolerances, samples
  wireslot target target.toml --out found
      the appliance that gives a wanted force system
  wireslot bench-test tension --material superelastic-nickel-titanium \\
      --section "0.016 in" --out tension
      a wire that yields or transforms, drawn, bent or twisted
  wireslot bench-test ranges --out ranges
      the library's alloys beside published ranges of wires in bending
  wireslot report case.toml --out results
      one page that says everything, to read or to print
  wireslot figure case.toml --what facial --style slide
      one picture, for a slide or a paper
  wireslot scene case.toml --view facial --page
      the wire in its slots, cut open; a page to turn it in a browser
  wireslot doctor
      what is missing on this machine?

Each command explains itself: wireslot play --help

A case file is TOML; every dimension carries its unit. A whole one:

  title = "A tube and a tied arm"
  [wire]
  material = "stainless-steel"
  section = { shape = "round", diameter = "0.016 in" }
  passive_shape = [ { straight = "30 mm" } ]
  seated_in = "tube"
  [[attachment]]
  name = "tube"
  kind = "tube"                          # bracket, tube, button or clamp
  slot = { height = "0.018 in", depth = "0.025 in", width = "4 mm" }
  position = ["0 mm", "0 mm", "0 mm"]    # x along the slot, y up, z out
  about_z = "5 deg"                      # or, with a tooth, angulation
  at = "4 mm"                            # the place on the wire found here
  stop = true                            # the wire cannot slide through
  [[attachment]]
  name = "hook"
  kind = "button"                        # holds one point, no couple
  position = ["22 mm", "3 mm", "0 mm"]
  at = "end"

Exit codes: 0 done, 1 a defect of ours, 2 usage or case file,
3 no equilibrium found, 5 something is missing on this machine (doctor),
4 no equilibrium found for some of several appliances (factor, compare),
3 also where a check differs (verify), 6 accuracy not reached (run --refine),
7 a wanted force system not met (target), 130 stopped by Ctrl-C.
Computed for study and teaching; not a treatment plan."""

NEW_EPILOGUE = """\
Example:
  wireslot new case.toml

Writes a commented case file: an invented example that runs as it is, with
every key explained where it stands. Change it to your own case, then
'wireslot check' it. A file that is there already is left alone without
--force. Case files hold no patient identifiers."""

CHECK_EPILOGUE = """\
Example:
  wireslot check case.toml

Says what the case holds, with the play of the wire in every slot, or names
all its problems at once: line, key, what was expected and what to do.
Solves nothing and writes nothing. Exit code 0: sound; 2: not."""

PLAY_EPILOGUE = """\
Examples:
  wireslot play --height "0.022 in" --depth "0.028 in" --width "3 mm" --wire "0.019 x 0.025 in"
      rectangular wires are height x depth: edgewise, the smaller comes first
  wireslot play --height "0.018 in" --depth "0.025 in" --width "3 mm" --wire "0.016 in"
      a round wire
  wireslot play --height "0.022 in" --depth "0.028 in" --width "0.130 in" \\
      --wire "0.019 x 0.025 in" --second-tilt "1 deg"
      what a wire tilted by 1 deg has left in third order: 1.69 of 7.24 deg
  wireslot play --table --csv play.csv
      the usual wires in slots of 0.018 x 0.025 and 0.022 x 0.028 in, 3 mm
      wide; --height, --depth, --width and --edge-radius change that

Words:
  play          how far a straight wire turns, one-sided from centred, until
                the walls stop it; the total runs from stop to stop. Papers
                on torque call it engagement angle, some give the total
  first order   occlusal view: stopped by floor and outer wall at the mouths
  second order  facial view: stopped by upper and lower wall at the mouths
  third order   mesiodistal view: stopped by the nearer pair of walls. Most
                published tables count the height alone; where that differs
                it is given too
  turns freely  no wall ever stops the wire: no torque in this slot
The slot is closed on all four sides and rigid; its height is
occlusogingival, its depth labiolingual, its width mesiodistal.
Units: mm, cm, um, in; deg, rad. Exit code 0 also where the wire turns freely
or does not fit: these are answers. 2: options that make no question."""

FORMULA_EPILOGUE = """\
Examples:
  wireslot formula
      the list, by subject
  wireslot formula torque-play
      one of them: inputs, equation, source, range
  wireslot formula torque-play slot_height="0.022 in" wire_height="0.019 in" wire_depth="0.025 in"
      computed: 7.24 deg
  wireslot formula step-bend youngs_modulus="206.8 GPa" second_moment="0.001339 mm^4" span="7 mm" step="0.35 mm"
      346 gf and 1210 gf mm; published for this step: 347 and 1210

Every value carries its unit; pure numbers have none. Outside the range that a
formula states, its value comes with a warning. In Python:
  from cases.formulas import torque_play_rad
Exit code 0: done; 2: no such formula, or inputs that make no question."""

VERIFY_EPILOGUE = """\
Examples:
  wireslot verify
      all checks in one table, in some seconds
  wireslot verify --markdown checks.md --json checks.json
      the same as files; --markdown alone prints it

Computes every outside check of the project here and now, by its solver, its
geometry and its sections, and lays it beside what a closed form, a published
benchmark or a measurement says. The first two are verification, against
theory; measurements are validation. The first run compiles the mechanics:
about a minute. Exit code 0: all agree; 3: one differs by more than its
tolerance."""

DOCTOR_EPILOGUE = """\
Example:
  wireslot doctor

Looks for: Python, the packages and their versions, the system libraries of
Gmsh and of drawing (Linux), whether gmsh starts, whether compiled kernels can
be kept and are there, and whether a picture can be drawn without a display (it
draws a small one). One line for each, ok or missing, with the remedy.
Takes a few seconds. It needs no package itself: where nothing is installed,
  python3 -m cases.cli doctor
in the project's folder does the same. Exit code 0: all is well; 5: something
is missing."""


class _Version(argparse.Action):
    """``--version``, looked up only when asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from cases.provenance import package_version

        print(package_version() or "not installed")
        parser.exit()


def _parser() -> argparse.ArgumentParser:
    def add(
        name: str, summary: str, epilogue: str, action: Callable[[argparse.Namespace], int]
    ) -> argparse.ArgumentParser:
        command = subparsers.add_parser(
            name, help=summary, description=summary, epilog=epilogue, formatter_class=raw, allow_abbrev=False
        )
        command.add_argument(
            "--traceback", action="store_true", help=f"show where a defect arose; also {TRACEBACK_VARIABLE}=1"
        )
        command.set_defaults(action=action)
        return command

    raw = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(
        prog="wireslot",
        description="Force and couple on every tooth, from a wire engaged in its slots with play.",
        epilog=EPILOGUE,
        formatter_class=raw,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and exit")
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    _new_arguments(add("new", "write a commented case file that runs", NEW_EPILOGUE, commands.new))
    _case_argument(
        add(
            "check",
            "check a case file: all its problems at once, with remedies",
            CHECK_EPILOGUE,
            commands.check,
        )
    )
    run_arguments(
        add(
            "run",
            "solve a case: numbers, words and a picture of the force systems",
            RUN_EPILOGUE,
            commands.run,
        )
    )
    _play_arguments(
        add("play", "play of a wire in a slot, in all three orders, or a table", PLAY_EPILOGUE, commands.play)
    )
    _formula_arguments(
        add(
            "formula",
            "a closed form of the trade, computed, with its source",
            FORMULA_EPILOGUE,
            commands.formula,
        )
    )
    _verify_arguments(
        add("verify", "every outside check, computed here and now", VERIFY_EPILOGUE, commands.verify)
    )
    factor_arguments(
        add(
            "factor",
            "what one factor does to force and couple: a table and a figure",
            FACTOR_EPILOGUE,
            commands.factor,
        )
    )
    compare_arguments(
        add("compare", "two or more appliances side by side", COMPARE_EPILOGUE, commands.compare)
    )
    study_arguments(
        add("study", "one case many times: grids and tolerances of its keys", STUDY_EPILOGUE, commands.study)
    )
    target_arguments(
        add(
            "target",
            "the appliance that gives a wanted force system: a search",
            TARGET_EPILOGUE,
            commands.target,
        )
    )
    bench_test_arguments(
        add(
            "bench-test",
            "draw, bend or twist a wire that yields or transforms: its curve and readings",
            BENCH_TEST_EPILOGUE,
            commands.bench_test,
        )
    )
    report_arguments(
        add("report", "one page of a case and its result, to read or print", REPORT_EPILOGUE, commands.report)
    )
    figure_arguments(
        add("figure", "one picture of a result, for a slide or a paper", FIGURE_EPILOGUE, commands.figure)
    )
    scene_arguments(
        add(
            "scene",
            "the wire in its attachments, cut open, from any side: picture, window or page",
            SCENE_EPILOGUE,
            commands.scene,
        )
    )
    animate_arguments(
        add("animate", "the engagement as an animated picture", ANIMATE_EPILOGUE, commands.animate)
    )
    add("doctor", "what is missing on this machine, and the remedy", DOCTOR_EPILOGUE, commands.doctor)
    return parser


def _new_arguments(command: argparse.ArgumentParser) -> None:
    command.add_argument("file", type=Path, metavar="FILE.toml", help="the case file to write")
    command.add_argument("--force", action="store_true", help="replace a file that is there already")


def _case_argument(command: argparse.ArgumentParser) -> None:
    command.add_argument("case", type=Path, metavar="CASE", help="the case file (TOML)")


PLAY_KINDS = {"--wire": "SIZE", "--taper": "ANGLE", "--front": "FRONT"}


def _play_arguments(command: argparse.ArgumentParser) -> None:
    for name, what in (
        ("--height", 'the slot\'s height, like "0.022 in"'),
        ("--depth", 'the slot\'s depth, like "0.028 in"'),
        ("--width", 'the slot\'s width from mouth to mouth, like "3 mm"'),
        ("--taper", 'angle between upper and lower wall, like "2 deg"; above zero: wider in front'),
        ("--mouth-radius", 'radius of the slot\'s edges at both mouths, like "0.1 mm"; sharp unless given'),
        ("--front", '"closed", or "open": a ligature is no wall; closed unless given'),
        ("--wire", 'the wire: "0.019 x 0.025 in" (height x depth), or one diameter'),
        ("--edge-radius", 'radius of the wire\'s edges, like "0.05 mm"; sharp unless given'),
        ("--second-tilt", 'the wire is tilted so in second order, like "1 deg": what is left in third?'),
        ("--first-tilt", "the same in first order"),
    ):
        kind = PLAY_KINDS.get(name, "ANGLE" if "tilt" in name else "LENGTH")
        command.add_argument(name, metavar=kind, help=what)
    command.add_argument("--table", action="store_true", help="a table of the usual wires instead of one")
    command.add_argument("--csv", metavar="FILE", help="write the table there as well, with all digits")


def _formula_arguments(command: argparse.ArgumentParser) -> None:
    command.add_argument("name", nargs="?", metavar="NAME", help="the formula; without it: the list")
    command.add_argument("inputs", nargs="*", metavar="KEY=VALUE", help='its inputs, like length="20 mm"')


def _verify_arguments(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--markdown",
        metavar="FILE",
        nargs="?",
        const=commands.PRINTED,
        help="the table as Markdown, into FILE or, without one, printed",
    )
    command.add_argument("--json", metavar="FILE", help="write the rows there, with all digits")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command with ``arguments`` (the program's own when None); gives the exit code."""
    try:
        options = _parser().parse_args(arguments)
    except SystemExit as end:  # argparse has said what is wrong, or has helped
        return DONE if end.code in (None, 0) else USAGE
    try:
        outcome: int = options.action(options)
        return outcome
    except WireslotError as error:
        say(str(error))
        return error.exit_code
    except KeyboardInterrupt:
        say("stopped; nothing was left half-written")
        return INTERRUPTED
    except Exception as error:
        if wants_traceback(arguments):
            raise
        say(f"a defect of ours: {type(error).__name__}: {error}")
        say("please report it with the case file; --traceback shows where it arose")
        return DEFECT


if __name__ == "__main__":
    sys.exit(main())

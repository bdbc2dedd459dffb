"""The command ``wireslot``.

Exit codes: 0 done, 1 a defect of ours, 2 usage or case file, 3 no equilibrium found, 130 stopped by Ctrl-C.
``wireslot --help`` answers at once: everything heavy is imported where it is used, and the arguments are read
by argparse, which starts in half the time of cyclopts.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cases.errors import WireslotError

if TYPE_CHECKING:
    from rich.console import Console

    from cases.results import RunResult
    from cases.schema import Case

DONE, DEFECT, USAGE, NO_EQUILIBRIUM, INTERRUPTED = 0, 1, 2, 3, 130
TRACEBACK_VARIABLE = "WIRESLOT_TRACEBACK"
LOG_WIDTH = 120
"""Columns where there is no terminal to ask."""

EPILOGUE = """\
Examples:
  wireslot check case.toml
      is the case file sound?
  wireslot run case.toml --out results
      solve it; result.json, tables and a picture go into results/
  wireslot run case.toml --out results --no-pictures
      numbers only

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

README.md explains every key.
Exit codes: 0 done, 1 a defect of ours, 2 usage or case file,
3 no equilibrium found, 130 stopped by Ctrl-C.
Computed for study and teaching; not a treatment plan."""


CHECK_EPILOGUE = """\
Example:
  wireslot check case.toml"""

RUN_EPILOGUE = """\
Examples:
  wireslot run case.toml --out results
  wireslot run case.toml --out results --no-pictures

Writes result.json (everything), path.csv (force systems increment by
increment), wire.csv (the engaged wire node by node) and wire.png."""


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
        command = commands.add_parser(
            name, help=summary, description=summary, epilog=epilogue, formatter_class=raw, allow_abbrev=False
        )
        command.add_argument("case", type=Path, metavar="CASE", help="the case file (TOML)")
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
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    add("check", "check a case file: all its problems at once, with remedies", CHECK_EPILOGUE, check)
    runs = add("run", "solve a case: numbers, words and a picture of the force systems", RUN_EPILOGUE, run)
    runs.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="DIR",
        help="folder for the results; made if it is not there",
    )
    runs.add_argument("--no-pictures", action="store_true", help="numbers only, no picture")
    return parser


def check(arguments: argparse.Namespace) -> int:
    """``wireslot check``: solves nothing, writes nothing."""
    from cases.casefile import load_case
    from cases.summary import print_case

    print_case(load_case(arguments.case), _console())
    return DONE


def run(arguments: argparse.Namespace) -> int:
    """``wireslot run``: whether the results can be written is found out before anything is solved."""
    from cases.casefile import load_case
    from cases.files import check_writable
    from cases.summary import warning_lines

    console = _console()
    case = load_case(arguments.case)
    check_writable(arguments.out)
    for line in warning_lines(case.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    result = _solve(case, console)
    if result is None:
        return NO_EQUILIBRIUM
    return _deliver(result, arguments.out, not arguments.no_pictures, console)


def _solve(case: Case, console: Console) -> RunResult | None:
    """The result, or None when no equilibrium was found (which has then been said)."""
    from cases.progress import IncrementLog
    from cases.run import run_case
    from fem.status import NoEquilibrium
    from geometry.compiled import needs_compiling

    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    try:
        with IncrementLog(console) as log:
            return run_case(case, log)
    except NoEquilibrium as failure:
        _say(f"{failure}; nothing was written")
        return None


def _deliver(result: RunResult, out: Path, pictures: bool, console: Console) -> int:
    """Write and print; the numbers are on disk before the picture is tried."""
    from cases.files import write_whole
    from cases.output import CAUTION, PICTURE, write_outputs
    from cases.summary import print_result

    written = list(write_outputs(result, out))
    print_result(result, console)
    failure: Exception | None = None
    if pictures:
        from cases.show.scene import draw_scene

        try:
            written += write_whole(out, {PICTURE: lambda path: draw_scene(result, path)})
        except Exception as error:  # whatever the renderer says, the numbers stand
            failure = error
    console.print("\nFiles", style="bold")
    for path in written:
        console.print(f"    {path}", markup=False, highlight=False, soft_wrap=True)
    console.print(f"\n{CAUTION}", highlight=False)
    if failure is not None:
        _say(f"the numbers are written, but the picture could not be drawn: {failure}")
        _say("README.md names the system libraries that rendering needs; --no-pictures does without them")
        if _wants_traceback():
            raise failure
        return DEFECT
    return DONE


def _console() -> Console:
    from rich.console import Console

    return Console(width=None if sys.stdout.isatty() else LOG_WIDTH)


def _say(text: str) -> None:
    print(f"wireslot: {text}", file=sys.stderr)


def _wants_traceback(arguments: Sequence[str] | None = None) -> bool:
    given = sys.argv[1:] if arguments is None else arguments
    return "--traceback" in given or os.environ.get(TRACEBACK_VARIABLE, "") not in ("", "0")


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
        _say(str(error))
        return error.exit_code
    except KeyboardInterrupt:
        _say("stopped; nothing was left half-written")
        return INTERRUPTED
    except Exception as error:
        if _wants_traceback(arguments):
            raise
        _say(f"a defect of ours: {type(error).__name__}: {error}")
        _say("please report it with the case file; --traceback shows where it arose")
        return DEFECT


if __name__ == "__main__":
    sys.exit(main())

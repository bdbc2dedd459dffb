"""The arguments of ``wireslot scene``, and their help; loads nothing, so help is quick."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

VIEWS = ("oblique", "facial", "occlusal", "mesiodistal")
CUTS = ("facial", "occlusal", "mesiodistal")
SIZES = {"hd": (1920, 1080), "4k": (3840, 2160)}
SMALLEST, LARGEST = (800, 600), (7680, 4320)
"""Pixels."""

EPILOGUE = """\
Examples:
  wireslot scene case.toml --results results
      scene-oblique.png, from what 'wireslot run' has stored, without solving
  wireslot scene case.toml --view facial --teeth --size 4k --transparent
      for a slide: teeth behind, 3840 x 2160 pixels, no background
  wireslot scene case.toml --attachment "molar tube" --view mesiodistal
      one slot from near, cut open where the wire presses hardest
  wireslot scene case.toml --page --teeth --results results
      scene.html as well: turn it in any browser, without a network
  wireslot scene case.toml --window
      turn it in a window, where there is a screen

Views: oblique (forces and moments whole), facial, occlusal, mesiodistal (what
of them acts within the view, as in the line figures; the facial view of an
arch is unrolled). --attachment shows one from near, in its own axes.
Slots are cut open: the half towards the viewer of the view, or of the one that
--cut names, is taken away; section lines mark the cut. A mesiodistal cut goes
through the nearest slot and the wire. Walls on which the wire presses are
marked, the darker the harder. --whole leaves slots whole and seen through.
Teeth have invented shapes of average size; nothing is computed from them.
Texts never cover each other; where they find no room, ask for a larger size.
Exit codes: 0 done, 1 nothing on this machine draws, 2 case file, results or
options that do not fit, 3 no equilibrium: nothing is written."""


def scene_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot scene``."""
    command.add_argument("case", type=Path, metavar="CASE", help="the case file (TOML)")
    command.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for the picture; this one unless given"
    )
    command.add_argument(
        "--results",
        type=Path,
        metavar="DIR",
        help="folder of stored results of this case; then nothing is solved",
    )
    command.add_argument("--view", choices=VIEWS, default="oblique", help="from where; oblique unless given")
    command.add_argument("--attachment", metavar="NAME", help="only this one, from near, in its own axes")
    slots = command.add_mutually_exclusive_group()
    slots.add_argument(
        "--cut", choices=CUTS, help="which half of the slots is taken away; that of the view unless given"
    )
    slots.add_argument("--whole", action="store_true", help="leave the slots whole and seen through")
    command.add_argument(
        "--teeth", action="store_true", help="invented tooth shapes and centres of resistance"
    )
    command.add_argument("--transparent", action="store_true", help="no background")
    command.add_argument(
        "--size",
        type=size_of,
        metavar="SIZE",
        help="hd, 4k, or WIDTHxHEIGHT in pixels; as needed unless given",
    )
    command.add_argument(
        "--page", action="store_true", help="scene.html as well: one file to turn in a browser"
    )
    command.add_argument("--window", action="store_true", help="show it in a window instead; needs a screen")


def size_of(text: str) -> tuple[int, int]:
    """Pixels from a name or WIDTHxHEIGHT."""
    if text.lower() in SIZES:
        return SIZES[text.lower()]
    found = re.fullmatch(r"(\d{1,5})\s*[xX]\s*(\d{1,5})", text)
    if found is None:
        raise argparse.ArgumentTypeError(f"expected hd, 4k or WIDTHxHEIGHT like 1920x1080: got {text!r}")
    size = int(found[1]), int(found[2])
    if not all(low <= value <= high for low, value, high in zip(SMALLEST, size, LARGEST, strict=True)):
        raise argparse.ArgumentTypeError(
            f"a scene has {SMALLEST[0]} x {SMALLEST[1]} to {LARGEST[0]} x {LARGEST[1]} pixels: got {text!r}"
        )
    return size

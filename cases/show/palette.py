"""Colours of all pictures: few, far apart in lightness, so that they stay apart in grey and for the colour-blind.

No meaning hangs on a colour alone: forces are straight arrows and moments round ones, curves differ in line
and marker too.
"""

from __future__ import annotations

from typing import Final

INK: Final = "#20242c"
GREY: Final = "#6b7280"
PALE: Final = "#d5dae1"
FORCE: Final = "#12264d"
MOMENT: Final = "#9a3412"
WALL: Final = "#9aa7b8"
WIRE: Final = "#dfbb3a"
"""Fill of the wire where no stress is shown; light in grey."""
PASSIVE: Final = "#9ca3af"
BANNER: Final = "#7f1d1d"

BLOCK: Final = "#7c8796"
EDGE_LINE: Final = "#4b5563"
CUT_FACE: Final = "#eef1f5"
"""Where a slot is cut open; section lines lie on it."""
PRESSING: Final = ("#e7b6d6", "#a1126f")
"""A wall on which the wire presses, from hardly to hardest."""
CROWN: Final = "#f1ede2"
ROOT: Final = "#dccfb4"

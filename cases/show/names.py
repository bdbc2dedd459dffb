"""Which files the pictures of a run are, by name alone: nothing is loaded to ask.

======================  ==========================================================================
wire.png                the stressed wire in its slots (wire.csv), with its arrows (wire-loads.csv)
slots.png, .svg, .csv   mesiodistal view of every slot; more than four slots: slots-1, slots-2, ...
views.png, .svg, .csv   facial, occlusal and mesiodistal view with forces and moments
activation.*            force and moment against activation, closed forms beside
bench.*                 load against travel of a bench test, the measured curve laid over
======================  ==========================================================================
"""

from __future__ import annotations

import re

SCENE, SCENE_LOADS = "wire.png", "wire-loads.csv"
SLOTS, VIEWS, ACTIVATION, BENCH = "slots", "views", "activation", "bench"
FORMATS = (".png", ".svg")
DATA = ".csv"
_OWN = re.compile(
    rf"{re.escape(SCENE)}|{re.escape(SCENE_LOADS)}|({SLOTS}(-\d+)?|{VIEWS}|{ACTIVATION}|{BENCH})\.(png|svg|csv)"
)


def is_picture(name: str) -> bool:
    """Whether a run may have left a file of this name as a picture or as the numbers behind one."""
    return _OWN.fullmatch(name) is not None

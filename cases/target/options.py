"""The arguments of ``wireslot target`` and its help; loads nothing, so help is quick."""

from __future__ import annotations

import argparse
from pathlib import Path

TARGET_EPILOGUE = """\
Example:
  wireslot target v-bend-null.toml --out null
      where must a V-bend stand so that one end feels no couple? It is shipped
      in cases/library/targets

A target file names a case, what may be changed in it and what is wanted:

  title = "The V-bend that leaves the second clamp without a couple"
  case = "v-bend.toml"                   # from the target file's folder
  [search]                               # may be left out
  starts = 8                             # the case itself, and seven drawn
  seed = 1
  [[unknown]]
  name = "bend"
  key = 'wire.passive_shape[2].bend'     # as in a study file
  least = "-40 deg"
  most = "-5 deg"
  [[unknown]]
  name = "place of the bend"
  key = 'wire.passive_shape[1].straight'
  against = 'wire.passive_shape[3].straight'   # shorter by as much
  least = "2 mm"
  most = "9 mm"
  [[unknown]]
  key = 'wire.section'                   # from a list: any value of TOML
  values = [ { shape = "round", diameter = "0.016 in" },
             { shape = "round", diameter = "0.018 in" } ]
  [[wanted]]
  attachment = "molar tube"
  moment = "second"                      # first, second, third, or x, y, z
  value = "300 gfmm"
  tolerance = "20 gfmm"
  [[wanted]]
  attachment = "molar tube"
  moment = "z"                           # both: moment over force, a length
  force = "x"
  value = "9 mm"
  tolerance = "1 mm"
  [limits]                               # may be left out
  stress = "1100 MPa"                    # or yield_share = "90 %"
  [bending_error]                        # by what bends and lengths may be off
  angle = "1 deg"
  length = "0.1 mm"

A wanted load acts on the tooth, about its attachment, or with
about = "centre of resistance" about that. First, second and third order are
the attachment's own axes, x, y and z the world's.

Before any search statics is asked: forces and moments on all attachments add
up to nothing, a button carries no couple. What no wire can do is refused in
words. Then a least-squares search from every start, with exact derivatives;
with friction by differences of whole solves.
Into DIR: target.json, candidates.csv, a figure, and the best candidates as
case files ready for 'wireslot run'.
Exit codes: 0 a candidate meets all that is wanted, 2 target file, case file or
folder, 7 impossible by statics, or no candidate meets it all."""


def target_arguments(command: argparse.ArgumentParser) -> None:
    """Of ``wireslot target``."""
    command.add_argument("target", type=Path, metavar="FILE", help="the target file (TOML)")
    command.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="DIR",
        help="folder for the candidates, their table and the figure",
    )
    command.add_argument(
        "--jobs",
        type=int,
        default=1,
        metavar="N",
        help="starts searched at a time, as threads; 1 unless given",
    )
    command.add_argument("--no-pictures", action="store_true", help="numbers only, no figure")

"""``wireslot new``: a case file to start from, which runs as it is and teaches every key in its comments."""

from __future__ import annotations

from pathlib import Path

from cases.errors import OutputError
from cases.text_file import write_text

TEMPLATE = """\
# A case file for wireslot.  It runs as it is:
#
#     wireslot check THIS-FILE
#     wireslot run THIS-FILE --out results
#
# AN INVENTED EXAMPLE: no patient, no measured mouth.  Case files hold no patient identifiers: keep names, dates and
# record numbers out of the title, the note and the file's name.
# Computed for study and teaching; not a treatment plan.
#
# Lines that begin with "#" are remarks; a key behind "# " is another way to say something: take the "# " away to use
# it.  Every dimension is a text with its unit: "0.022 in", "3 mm", "12 deg", "206.8 GPa".
# Units: mm, cm, um, in; deg, rad; MPa, GPa, psi, ksi; N, cN, mN, gf; N/mm, cN/mm, gf/mm.
#
# Axes, as in a facial view: x to your right, y up, z towards you.  A slot has its own: x along it, y its height, z its
# depth, out of the slot.  The wire runs through every attachment in its +x direction.

title = "A long arm from a lower molar tube to a canine hook (invented example)"
note = "The arm points below the hook; raised to it, it presses the canine gingivally."   # may be left out

# For many teeth, name a CSV file beside this one, here at the top: tooth_table = "teeth.csv".  It has one row for each
# bracket or tube, beside or instead of the [[attachment]] below, and a header that says each column's unit:
#   tooth                    FDI number (needed); name, if the number is not to be the name; kind, else "bracket"
#   at_mm                    the place along the wire, or from_midline_mm along it from its station "midline" to the
#                            tooth's own side.  The slot is there, turned as the wire, and from there ...
#   offset_mm, occlusal_mm   ... out of the arch and towards the bite, and turned by
#   rotation_deg, angulation_deg, inclination_deg
#   x_mm, y_mm, z_mm         instead: the slot's centre in world axes, and the angles from these axes
#   slot_height_in, slot_depth_in, slot_width_mm, stop, hold_roll (yes or no), centre_of_resistance_x_mm (and _y, _z)
#   friction, ligation       a pure number; one of the names below, like elastomeric
#   support, segment         "typical" for a tooth that gives way; the name of a rigid segment of several

[wire]
# An alloy of the library: "stainless-steel", "cobalt-chromium", "beta-titanium", "martensitic-nickel-titanium",
# "superelastic-nickel-titanium" ...
material = "beta-titanium"
# ... or one with values of yours instead ...
# material = { alloy = "beta-titanium", youngs_modulus = "68 GPa", yield_stress = "1000 MPa", source = "measured" }
# ... or all your own.  The range of Young's modulus says how far the loads may be off.
# material = { name = "mine", youngs_modulus = "180 GPa", youngs_modulus_range = ["170 GPa", "190 GPa"], poisson = 0.3 }
# Beside them may stand a law: "elastic"; "elastoplastic", with isotropic_hardening and kinematic_hardening; or
# "superelastic", with austenite_modulus, martensite_modulus, transformation_strain, loading_start, loading_finish,
# unloading_start, unloading_finish, compression_ratio, clausius_clapeyron, reference_temperature and poisson.

# Height is along the slot's height: a wire lies edgewise when its height is the smaller.  Without edge_radius the edges
# are sharp.
section = { shape = "rectangle", height = "0.017 in", depth = "0.025 in", edge_radius = "0.05 mm" }
# section = { shape = "round", diameter = "0.016 in" }
# Strands that slide on each other, with core_diameter round a core; lay_length, once round, may stand for the angle;
# with height and depth (and edge_radius) they are a braid.
# section = { shape = "strands", strands = 3, strand_diameter = "0.008 in", lay_angle = "15 deg" }

# The wire as bent, free of stress, piece by piece from its start.
#   straight   a run of this length
#   bend       by this angle.  order = "second": in the facial view, + turns the wire up (from +x to +y);
#              order = "first": in the occlusal view, + turns it away from you (from +x to -z).
#              radius: of the centreline, 0.5 mm unless given.
#   twist      about the wire's own axis by this angle, over this length; + turns the height (y) towards the depth (z)
#   arc        a bend of any angle, its radius always told
#   curve      a run of even curvature, by its turns about the wire's own axes, about_x, about_y and about_z
#   helix      a coil; more turns, to the other side with a -; pitch is from turn to turn; hand is "right" or "left"
#   loop       "vertical": height from the wire's line to the top, width between the legs, radius of its other bends
#              (0.5 mm unless given), side "up" or "down".  "vertical-helix": turns, pitch and hand of a coil at its top
#              too.  "T" and "L": width of the head, head for its height, gap between the legs; toe of an L "right" or
#              "left"
#   arch       half an ellipse, width between its ends; with canine_width and canine_depth (behind the front) a rounder
#              or flatter front.  It names its front the station "midline"
#   station    names the place where it stands, for at = "apex" below; loops name their top "apex" themselves
#   mirror     the pieces inside, with up and down ("second") or in and out ("first") exchanged
#   reverse    the pieces inside, left and right exchanged
#   repeat     the pieces inside, so many times
#   points     a CSV file beside this one, columns x_mm, y_mm, z_mm (and twist_deg): the wire is smoothed through the
#              points, none farther from it than the tolerance: { points = "wire.csv", tolerance = "0.02 mm" }
#   shape      a TOML file beside this one that holds a passive_shape of its own: { shape = "loop.toml" }
passive_shape = [
    { straight = "6 mm" },
    { bend = "-25 deg", order = "second", radius = "1 mm" },
    { straight = "22 mm" },
    # { twist = "10 deg", over = "2 mm" },
    # { arc = "40 deg", order = "first", radius = "20 mm" },
    # { helix = { turns = 1, diameter = "3 mm", pitch = "0.8 mm", order = "second", hand = "right" } },
    # { loop = "vertical", height = "6 mm", width = "2 mm", radius = "0.5 mm", side = "down" },
    # { loop = "vertical-helix", height = "7 mm", width = "2.4 mm", turns = 1, pitch = "0.8 mm", hand = "left" },
    # { loop = "T", height = "7 mm", width = "10 mm", head = "2 mm", gap = "1.5 mm" },
    # { loop = "L", height = "7 mm", width = "6 mm", head = "2 mm", gap = "1.5 mm", toe = "left" },
    # { arch = { width = "44 mm", depth = "30 mm", canine_width = "27 mm", canine_depth = "7 mm" } },
    # { station = "here" },
    # { mirror = [ { bend = "10 deg", order = "first" }, { straight = "3 mm" } ], order = "first" },
    # { reverse = [ { bend = "10 deg", order = "first" }, { straight = "3 mm" } ] },
    # { repeat = [ { bend = "5 deg", order = "first" }, { straight = "3 mm" } ], times = 2 },
]

# The attachment in which the passive wire lies before activation.  The others start on the passive wire, too, and
# move to their own places: that is the activation.
seated_in = "molar tube"

# One [[attachment]] for each, in their order along the wire from its start.

[[attachment]]
name = "molar tube"
# The tooth's FDI number may be left out.  With it results speak of mesial, distal, occlusal and gingival, and poses
# may, too.
tooth = "46"
# bracket and tube have a slot; a button (hook, eyelet) holds one point of the wire and carries no couple; a clamp holds
# a section of the wire in position and direction; on a "knife edge" or a "roller" (with a radius) the wire only rests,
# with side = "below" or "above" it.
kind = "tube"
# Real sizes, with their play.  width: mesiodistal, from mouth to mouth.  Left out: upper and lower wall parallel, sharp
# mouths (mouth_radius = "0.05 mm" rounds them), no higher than given.
slot = { height = "0.022 in", depth = "0.028 in", width = "4 mm" }
# slot = { height = "0.56 mm", depth = "0.71 mm", width = "4 mm", taper = "1 deg", oversize = "3 %" }
# How the front is closed: "closed" (a rigid door or a tube's own wall; left out), "elastomeric", "steel ligature",
# "active clip" or "none".  Ligatures have a force on a wire on the floor, or a slack or reach, and a stiffness.
# ligation = { kind = "elastomeric", force = "1.5 N", stiffness = "2 N/mm" }
# ligation = { kind = "steel ligature", slack = "0.05 mm", stiffness = "100 N/mm" }
# ligation = { kind = "active clip", reach = "0.6 mm", stiffness = "5 N/mm" }
# How stiff the walls are, N per mm of slot and mm of give.  Left out: rigid.
# wall_modulus = "20 GPa"
# Coefficient of Coulomb friction here; [wire] friction = 0.15 says it for all slots.  Left out: none.
# friction = 0.15
# The slot's centre.
position = ["0 mm", "0 mm", "0 mm"]
# How it is turned, with a tooth: mesial out +, mesial crown tip +, labial crown torque +.  Left out, each is 0 ...
rotation = "0 deg"
angulation = "0 deg"
inclination = "0 deg"
# ... or, never mixed with these, right-handed angles about the slot's own moving axes, in this order.
# about_y = "0 deg"
# about_z = "0 deg"
# about_x = "0 deg"
# The place on the passive wire that lies here before activation: a length from its start, or "start", "middle", "end",
# or the name of a station.
at = "3 mm"
# The wire cannot slide through here (a stop, or cinched).  Left out: false.
stop = true
# The wire cannot turn about its own axis here; a round wire turns freely otherwise.  Left out: false.
hold_roll = false
# From the slot's centre along the slot's own axes.  Left out, with a tooth: that of an average one, as the result says.
centre_of_resistance = ["0 mm", "-9 mm", "-3 mm"]
# Left out, the tooth stands fast.  Else it gives way linearly at that point: a typical tooth, no better than an order
# of magnitude, or your own figures along and about the slot's axes.  Teeth of one segment = "NAME" are one rigid body.
# support = "typical"
# support = { along = ["200 N/mm", "200 N/mm", "rigid"], about = ["16 Nmm/deg", "8 Nmm/deg", "16 Nmm/deg"] }

[[attachment]]
name = "canine hook"
tooth = "43"
kind = "button"
position = ["24 mm", "0 mm", "0 mm"]
at = "end"
# A button may hold the wire by a thread that only pulls, once it is taut.
# thread = { length = "0.5 mm", stiffness = "20 N/mm" }   # slides = false: an elastic chain

# A second wire: write [[wire]] for each in place of [wire], each with a name, and say in an attachment which wire it
# holds (left out: the first).  A hook slides along the other wire, a tie does not; above and in_front say how far the
# wire's middle lies from the other's.
#   wire = "overlay"
#   [[joint]]
#   name = "hook"
#   kind = "hook"           or "tie"
#   wire = "overlay"
#   at = "end"
#   to = "base arch"
#   to_at = "18 mm"
#   above = "0 mm"
#   in_front = "0.4 mm"

[analysis]
# Steps from the passive wire to the engaged one, 1 to 10000; path.csv has the force systems of each.
increments = 10
# Where the equilibrium becomes unstable, let the wire snap to the stable one.
# snap = true
# The order in which the attachments are tied in, one after another; left out: all at once.
# tie_in = ["canine hook"]
# A superelastic wire also heeds its temperature, "36 degC" unless given here or in a stage.

# What happens after the engagement, in order: teeth that give way follow their own loads, step by step (no prediction
# of treatment) ...
#   [[stage]]
#   follow = "50 %"       of each tooth's initial displacement
#   steps = 5
# ... or all attachments go back a share of their way ...
#   [[stage]]
#   name = "half of the way back"
#   back = "50 %"
#   increments = 5
# ... or go to shares of it one after another, beyond 100 % in a trial activation, repeat times ...
#   [[stage]]
#   to = ["150 %", "0 %", "100 %"]
#   repeat = 2
# ... or one of them moves, in world axes, and turns about its own:
#   [[stage]]
#   move = "canine hook"
#   by = ["0 mm", "0.5 mm", "0 mm"]
#   turn = { about_y = "0 deg", about_z = "5 deg", about_x = "0 deg" }
#   until = "0.3 N"          the working range ends where the force on it has fallen to this
#                            (a moment, where it only turns)

# A test on a bench: one attachment is turned or drawn, in its own axes, and brought back; a sensor reads the load on
# one, about a point and along axes that are mounted with it.  gives_way: stiffness of the rig.  measured: a CSV file
# with the columns angle_deg and moment_Nmm, or travel_mm and force_N, laid over the computed curve.
#   [bench]
#   move = "canine hook"
#   by = ["0 mm", "1 mm", "0 mm"]
#   increments = 10
#   sensor = "molar tube"
#   sensor_from_centre = ["0 mm", "0 mm", "-20 mm"]
#   gives_way = { along = ["50 N/mm", "50 N/mm", "rigid"], about = ["20 Nmm/deg", "rigid", "rigid"] }
#   measured = "measured.csv"
"""

TRY_ELSEWHERE = "give another file name, or --force to replace it"


def write_template(path: Path, force: bool) -> Path:
    """Write the template to ``path``, whole or not at all; folders on the way are made.

    Raises OutputError where something is there already (unless ``force`` and a file), or nothing can be written.
    """
    if path.is_dir():
        raise OutputError(f"{path} is a folder, expected the name of a case file; write {path / 'case.toml'}")
    if path.exists() and not force:
        raise OutputError(f"{path} exists already and was left as it is; {TRY_ELSEWHERE}")
    return write_text(path, TEMPLATE)

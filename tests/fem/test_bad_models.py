"""Whatever is written into the public values of `fem` and `geometry`: a rod that solves, or one clear ValueError.

Never another exception or a warning, never a number in a result that is not finite.  What is thrown at them is drawn by
hypothesis, the same draws every time.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from fem.material import LinearElastic
from fem.model import Clamp, Edge, Ligature, Model, PointTie, Restraint, SlotWalls, Support
from fem.path import Leg, Options, Path, engage
from fem.rods import Held, Load, node_at, rod
from fem.section_law import LinearSection, shear_coefficients
from fem.status import NoEquilibrium
from geometry.pose import Pose, rotation_about
from geometry.section import Rectangle, Round, Section
from geometry.wire_shapes import Bend, Curved, PassiveShape, Piece, Station, Straight, Twist, seat

# At once and without a second try: a rod that is too much for that has no equilibrium, and says so.
AT_ONCE = Options(increments=1, least_increment=1.0)
LONGEST_MESSAGE = 480

HERE = Pose.identity()
STEEL = LinearElastic("steel", 2.0e5, 0.3)
SECTION = Round(0.5)
SHAPE = PassiveShape((Straight(20.0),), (Station("middle", 10.0),))
TIP = Load(20.0, (0.0, 0.5, 0.2), (0.1, 0.0, 0.0))
LIGATURE = Ligature(0.6, 2.0, np.array([-1.0, 0.0, 1.0]), np.array([0.2, 0.3, 0.5]))
WALLS = SlotWalls(0.55, 0.7, np.array([-1.0, 0.0, 1.0]), front=LIGATURE, modulus=1e4, friction=0.1)
GOOD_LEG = Leg("on", (HERE, HERE))


def model_with(
    restraint: Restraint = WALLS,
    section: Section = SECTION,
    material: LinearElastic = STEEL,
    shape: PassiveShape = SHAPE,
    end: Pose | None = None,
) -> Model:
    """A rod built in at its start, held in the middle, loaded at its end."""
    load = replace(TIP, at=shape.length)
    held = [Held(Clamp(), 0.0), Held(restraint, 0.5 * shape.length, end)]
    return rod(shape, section, material, held, [load], 12)


GOOD = model_with()


def bent(piece: Piece) -> Model:
    """A straight run and the piece."""
    shape = PassiveShape((Straight(10.0), piece))
    return rod(shape, SECTION, STEEL, [Held(Clamp(), 0.0)], [Load(shape.length, (0.0, 0.01, 0.0))], 12)


def second_support(support: Support) -> Model:
    return replace(GOOD, supports=(GOOD.supports[0], support))


def spoiled(value: Any, name: str, make: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """What takes the place of the field ``name`` of ``value`` goes on to ``make``."""
    return lambda given: make(replace(value, **{name: given}))


def places() -> dict[str, Callable[[Any], Any]]:
    """Every public value that takes a number, a text or another value, by name."""
    table: dict[str, Callable[[Any], Any]] = {}
    fields: list[tuple[Any, str, Callable[[Any], Any]]] = [
        (
            WALLS,
            "height depth offsets stop hold_roll taper mouth_radius front modulus friction",
            model_with,
        ),
        (LIGATURE, "rest stiffness offsets shares", lambda tie: model_with(replace(WALLS, front=tie))),
        (Edge(1.0, True, 0.1), "radius below friction", model_with),
        (PointTie(False, 0.1, 5.0), "stop thread stiffness slides", model_with),
        (Clamp(), "slides", model_with),
        (GOOD.supports[1], "restraint arc start end compliance", second_support),
        (GOOD, "shape placed nodes section law supports loads", lambda model: model),
        (
            STEEL,
            "name youngs_modulus poisson yield_stress",
            lambda steel: model_with(Clamp(), SECTION, steel),
        ),
        (Round(0.5), "diameter", lambda section: model_with(Clamp(), section)),
        (Rectangle(0.4, 0.5), "height depth", lambda section: model_with(Clamp(), section)),
        (Rectangle(0.4, 0.5, 0.1), "edge_radius", lambda section: replace(GOOD, section=section)),
        (Straight(20.0), "length", bent),
        (Bend(1.0, "second", 10.0), "angle order radius", bent),
        (Twist(1.0, 10.0), "angle length", bent),
        (Curved((0.1, 0.1, 0.1), 10.0), "curvature length", bent),
        (SHAPE, "pieces stations", lambda shape: model_with(shape=shape)),
        (SHAPE.stations[0], "name at", lambda one: model_with(shape=replace(SHAPE, stations=(one,)))),
        (HERE, "position axes", lambda pose: model_with(end=pose)),
        (HERE, "position axes", lambda pose: replace(GOOD, placed=pose)),
        (
            TIP,
            "at force moment follower",
            lambda load: rod(SHAPE, SECTION, STEEL, [Held(Clamp(), 0.0)], [load], 12),
        ),
        (
            Held(PointTie(), 10.0),
            "restraint at end start",
            lambda held: rod(SHAPE, SECTION, STEEL, [Held(Clamp(), 0.0), held], (), 12),
        ),
        (GOOD_LEG, "name ends increments active", lambda leg: leg),
        (AT_ONCE, "increments least_increment most_iterations follow follow_within", lambda options: options),
    ]
    for value, names, make in fields:
        for name in names.split():
            table[f"{type(value).__name__}.{name} {len(table)}"] = spoiled(value, name, make)
    table |= {
        "LinearSection": lambda value: replace(GOOD, law=LinearSection(value)),
        "LinearSection.of": lambda value: LinearSection.of(SECTION, STEEL, value),
        "shear_coefficients": lambda value: shear_coefficients(SECTION, value),
        "frames": SHAPE.frames,
        "curvature": SHAPE.curvature,
        "nearest": SHAPE.nearest,
        "seat": lambda value: seat(SHAPE, value, HERE),
        "rotation_about axis": lambda value: rotation_about(value, 1.0),
        "rotation_about angle": lambda value: rotation_about((1.0, 0.0, 0.0), value),
        "from_angles position": Pose.from_angles,
        "from_angles": lambda value: Pose.from_angles(np.zeros(3), value),
        "to_world": HERE.to_world,
        "to_local": HERE.to_local,
        "reach": SECTION.reach,
        "node_at": lambda value: node_at(GOOD.nodes, value),
        "node_at arcs": lambda value: node_at(value, 0.0),
        "legs": lambda value: engage(GOOD, AT_ONCE, legs=value) if value is not None else None,
        "engage": engage,
        "elements": lambda value: rod(SHAPE, SECTION, STEEL, [Held(Clamp(), 0.0)], (), _not_many(value)),
    }
    return table


def _not_many(value: Any) -> Any:
    """As many elements as a test has time for."""
    return value if not isinstance(value, int) or value < 500 else 500


def _as_float(value: float) -> float:
    return float(value) if abs(value) < 10**300 else math.inf


PLACES = places()
EDGES = [0.0, -0.0, 5e-324, 1e-300, 1e-12, 1e-9, 1e-3, 0.3, 1.0, 10.0, 1e12, 1e300, math.inf, math.nan]
NUMBERS = st.sampled_from(EDGES + [-edge for edge in EDGES]) | st.floats() | st.integers() | st.just(10**400)
OTHERS: list[Any] = [None, "", "1", "first", "closed", True, False, 1j, b"x", object]
SCALARS = NUMBERS | st.sampled_from([*OTHERS, np.float32(0.3), np.int8(7), np.bool_(True)])
KINDS = st.sampled_from([np.float64, np.float32, np.int32, np.bool_, np.complex128, np.dtype("U3")])
SIDES = arrays.array_shapes(min_dims=0, max_dims=3, min_side=0, max_side=6)
RIGHT_SHAPES = st.sampled_from([(3,), (3, 3), (6,), (13, 6), (13,)])
ROWS = arrays.arrays(KINDS, SIDES) | arrays.arrays(np.float64, RIGHT_SHAPES, elements=NUMBERS.map(_as_float))
ANYTHING = SCALARS | ROWS | st.lists(SCALARS, max_size=6) | st.lists(ROWS, max_size=2) | st.just({})
FUZZ = settings(max_examples=800, deadline=None, derandomize=True, database=None)


def must_be_finite(found: Any) -> None:
    """Of a path every number that users read; of anything else all its arrays."""
    if isinstance(found, Path):
        snapshot = found.last.snapshot
        for name in ("force", "moment", "positions", "axes", "resultants", "centre_arc", "floor"):
            assert np.isfinite(getattr(snapshot, name)).all(), name
    elif isinstance(found, tuple):
        for part in found:
            must_be_finite(part)
    elif isinstance(found, float | np.ndarray):
        assert np.isfinite(found).all()


def must_be_clear(error: ValueError) -> None:
    """One sentence or two, on one line, with what was given."""
    said = str(error)
    assert 20 < len(said) <= LONGEST_MESSAGE and "\n" not in said, said
    assert any(word in said for word in ("got", "support", "node", "rod", "wire", "element")), said
    assert "Traceback" not in said and "setting an array element" not in said and "broadcast" not in said, (
        said
    )


def ends_well(make: Callable[[Any], Any], value: Any) -> bool:
    """Makes it, solves it where it is a model, and looks at what comes out.  True where there was a result."""
    try:
        found = make(value)
    except ValueError as error:
        must_be_clear(error)
        return False
    if isinstance(found, Model):
        try:
            found = engage(found, AT_ONCE)
        except NoEquilibrium as none:
            # an honest end: the value is sound, and the rod it makes is beyond balance
            assert not none.status.converged
            return False
    must_be_finite(found)
    return True


@FUZZ
@given(place=st.sampled_from(sorted(PLACES)), value=ANYTHING)
def test_anything_anywhere_solves_or_is_refused(place: str, value: Any) -> None:
    ends_well(PLACES[place], value)


LENGTHS = st.floats(10.0, 200.0)
SHARES = st.floats(0.1, 1.0)
SECTIONS = st.builds(Round, st.floats(0.3, 3.0)) | st.builds(
    Rectangle, st.floats(0.3, 3.0), st.floats(0.3, 3.0)
)
MATERIALS = st.builds(LinearElastic, st.just("any"), st.floats(1e3, 1e6), st.floats(-0.5, 0.5))
WAYS = st.builds(lambda *way: np.array(way), *3 * [st.floats(-0.05, 0.05)])


@settings(FUZZ, max_examples=100)
@given(LENGTHS, SECTIONS, MATERIALS, SHARES, st.floats(-1.0, 1.0), st.floats(-1.5, 1.5), WAYS)
def test_every_sound_rod_solves(
    length: float,
    section: Section,
    material: LinearElastic,
    place: float,
    force: float,
    turn: float,
    way: np.ndarray,
) -> None:
    """Curved or straight, built in at its start, tied at a point that is moved, with a force of up to EI/L^2."""
    piece = Straight(length) if abs(turn) < 0.01 else Bend(turn, "second", length / abs(turn))
    shape = PassiveShape((piece,))
    softest = material.youngs_modulus * min(section.second_moment_y, section.second_moment_z)
    load = Load(shape.length, (0.0, force * softest / shape.length**2, 0.0))
    position, axes = shape.frames(place * shape.length)
    end = Pose(position[0] + way * place * length, axes[0])
    held = [Held(Clamp(), 0.0), Held(PointTie(), place * shape.length, end)]
    path = engage(rod(shape, section, material, held, [load], 16))
    must_be_finite(path)
    snapshot = path.last.snapshot
    left = snapshot.force.sum(axis=0) - load.force
    largest = float(np.abs(snapshot.force).max())
    np.testing.assert_allclose(left, 0.0, atol=1e-6 * largest + 100.0 * snapshot.floor)


MIRROR = np.diag((1.0, 1.0, -1.0))
ARC = np.array([0.0, 5.0, 10.0])


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Pose(np.zeros(2), np.eye(3)), r"position of a pose .* shape \(3,\): got shape \(2,\)"),
        (
            lambda: Pose(np.array([0.0, math.nan, 0.0]), np.eye(3)),
            "position of a pose must be finite: got nan mm",
        ),
        (lambda: Pose(np.zeros(3), 1.1 * np.eye(3)), "orthonormal.*off by 0.21.*from_angles"),
        (lambda: Pose(np.zeros(3), MIRROR), "right-handed: got the mirror image.*turn one column round"),
        (lambda: Pose.from_angles(np.zeros(3), math.inf), "angle of a rotation .* finite angle: got inf rad"),
        (lambda: Round(0.0), "diameter .* finite length above zero: got 0.0 mm"),
        (lambda: Round(1e-12), "diameter .* from 1e-09 to 1e[+]09 mm: got 1e-12 mm"),
        (lambda: Rectangle(0.4, -0.5), "depth .* above zero: got -0.5 mm"),
        (lambda: Straight("5 mm"), "length of a straight run .*: got '5 mm'"),  # type: ignore[arg-type]
        (lambda: Twist(1.0, 1e-12), "twist turns by per mm .* to 1e[+]09 rad/mm: got 1000000000000.0 rad/mm"),
        (
            lambda: PassiveShape((Straight(9e8), Straight(9e8))),
            "length of a whole wire .*: got 1800000000.0 mm",
        ),
        (
            lambda: PassiveShape((1.0,)),
            "pieces of a wire must each be Straight, Bend, Twist or Curved: got 1.0",
        ),  # type: ignore[arg-type]
        (lambda: SHAPE.frames(21.0), "wire runs from 0 to 20 mm: got arc length 21 mm"),
        (lambda: LinearElastic("iron", math.nan, 0.3), "iron: Young's modulus .*: got nan MPa"),
        (lambda: LinearElastic("iron", 2e5, -1.0), "iron: Poisson's ratio must lie above -1.*: got -1.0"),
        (lambda: LinearSection(np.array([1.0, 1, 1, 0, 1, 1])), "above zero, .*: got GJ = 0.0"),
        (lambda: LinearSection(np.eye(6)), r"six finite stiffnesses .* shape \(6,\): got shape \(6, 6\)"),
        (lambda: SlotWalls(0.5, 0.5, np.array([1.0, 0.0])), "stations of a slot must increase.*sort them"),
        (lambda: SlotWalls(0.5, 0.5, np.array([])), "stations of a slot must be at least 1"),
        (lambda: SlotWalls(0.1, 0.5, ARC, taper=-0.5), "must not meet .*make the taper smaller"),
        (lambda: SlotWalls(0.5, 0.5, ARC[:1], modulus=1e4), "got one station .*give two stations"),
        (
            lambda: SlotWalls(0.5, 0.5, ARC, front="shut"),
            'front .* "closed", "open" or a Ligature: got \'shut\'',
        ),  # type: ignore[arg-type]
        (lambda: Edge(friction=-0.1), "friction of an edge .* not below zero: got -0.1"),
        (lambda: PointTie(stiffness=5.0), "without a thread does not give way: got a stiffness of 5 N/mm"),
        (lambda: Clamp(slides="no"), "clamp slides must be True or False: got 'no'"),  # type: ignore[arg-type]
        (lambda: Ligature(0.5, 1.0, ARC, np.array([0.5, 0.5, 0.5])), "shares sum to one.*got places"),
        (lambda: Support(Clamp(), math.nan, HERE, HERE), "arc length that a support meets .*: got nan mm"),
        (lambda: Support("clamp", 0.0, HERE, HERE), "restraint must be SlotWalls, .*: got 'clamp'"),  # type: ignore[arg-type]
        (lambda: replace(GOOD, nodes=0.9 * ARC, loads=None), "no node and no wire .* 10 mm.*move"),
        (
            lambda: replace(GOOD, nodes=np.array([0.0, 10.0, 21.0]), loads=None),
            "lie on the wire, .* 0 to 21 mm",
        ),
        (
            lambda: replace(GOOD, section=Round(0.56)),
            "larger than the slot of support 1.*take a smaller wire",
        ),
        (lambda: replace(GOOD, supports=()), "without supports bears no force: .* 0.5 .*add a support"),
        (
            lambda: model_with(shape=PassiveShape((Bend(1e9, "second", 1.0),))),
            "needs 5.73e[+]09, .*turns less",
        ),
        (lambda: Leg("out", (HERE,), 0), 'leg "out" needs at least one increment.*: got 0'),
        (
            lambda: Leg("out", (HERE,), active=(True, True)),
            'of leg "out" must be as many as its ends, 1: got 2',
        ),
        (lambda: Options(least_increment=0.0), "least increment must be a share of a leg: got 0.0"),
        (lambda: engage(GOOD, legs=[]), "at least one leg: got none"),
        (lambda: engage(GOOD, legs=[Leg("out", (HERE,))]), 'leg "out" .* each of the 2 supports .*: got 1'),
        (
            lambda: rod(SHAPE, SECTION, STEEL, [Held(Clamp(), 20.5)]),
            "support lies at arc length 20.5 mm, off the",
        ),
        (
            lambda: rod(SHAPE, SECTION, STEEL, [], [Load(-1.0)]),
            "load lies at arc length -1 mm, off the rod of 20",
        ),
        (lambda: rod(SHAPE, Rectangle(0.1, 9.0, 0.05), STEEL, []), "got 90 .*leave its edges sharp"),
        (lambda: node_at(ARC, 1.0), "no node lies at arc length 1 mm: put a support or a load there"),
    ],
)
def test_errors_say_what_and_how_much_and_what_to_do(make: Callable[[], Any], says: str) -> None:
    with pytest.raises(ValueError, match=says) as caught:
        make()
    must_be_clear(caught.value)


def test_a_passive_element_turns_by_a_quarter_of_a_circle_at_most() -> None:
    """A ring on four elements is one, on three it could as well turn the other way."""
    ring = PassiveShape((Bend(2.0 * math.pi, "second", 1.0),))
    law = LinearSection(np.ones(6))
    nodes = np.linspace(0.0, ring.length, 5)
    assert Model(ring, HERE, nodes, SECTION, law).nodes.size == 5
    with pytest.raises(ValueError, match="may turn by 90 deg .* turns by 120 deg; put more nodes there"):
        Model(ring, HERE, np.linspace(0.0, ring.length, 4), SECTION, law)


@pytest.mark.parametrize("taper", [-0.2, 0.0, 0.2])
@pytest.mark.parametrize("front", ["closed", "open"])
def test_a_wire_larger_than_its_slot_is_refused_exactly_where_it_is_larger(taper: float, front: Any) -> None:
    """A sharp rectangle in the middle of the slot's depth: where walls open to the front its corners at the back meet
    them first, where they close those in front.  In depth only where a wall closes the front."""
    walls = SlotWalls(0.5, 0.7, np.array([-1.0, 1.0]), taper=taper, front=front)
    depth = 0.5
    at_corners = 0.5 * 0.7 - math.copysign(0.5 * depth, taper)
    room = 0.5 + 2.0 * math.tan(0.5 * taper) * at_corners
    assert walls.fits(Rectangle(room * (1.0 - 1e-9), depth))
    assert not walls.fits(Rectangle(room * (1.0 + 1e-9), depth))
    # units may differ in the last bit
    assert walls.fits(Rectangle(0.1, 0.7 * (1.0 + 4e-16)))
    assert walls.fits(Rectangle(0.1, 0.7 * (1.0 + 1e-9))) == (front == "open")


def test_numbers_of_any_kind_become_plain_ones() -> None:
    """A diameter in eight bits must not overflow, nor one in single precision carry its rounding on."""
    assert Round(np.int8(100)).area == Round(100.0).area  # type: ignore[arg-type]
    assert type(Rectangle(np.float32(0.5), 1).height) is float  # type: ignore[arg-type]
    assert Leg("out", [HERE], np.int64(3)).ends == (HERE,)  # type: ignore[arg-type]


def test_a_load_stays_where_it_is_on_the_wire() -> None:
    """A node that bears a load does not go along with a slot that slides."""
    loads = np.zeros((GOOD.nodes.size, 6))
    loads[3, 1] = 1.0
    assert 3 in replace(GOOD, loads=loads).still_nodes()
    assert 3 not in replace(GOOD, loads=None).still_nodes()

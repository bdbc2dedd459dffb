"""Slots, their contact stations, and what may be attached with what."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.attachments import Attachment, Slot
from geometry.ligation import CLOSED, Ligation, Thread
from geometry.pose import Pose

SLOT = Slot(height=0.56, depth=0.71, width=3.0)


@pytest.mark.parametrize("width", [0.005, 0.02, 0.3, 1.0, 2.54, 3.0, 4.0, 7.5])
def test_stations_crowd_at_both_mouths(width: float) -> None:
    offsets = Slot(0.56, 0.71, width).station_offsets()
    spacing = np.diff(offsets)
    assert offsets[0] == -width / 2 and offsets[-1] == width / 2
    assert (offsets == -offsets[::-1]).all() and 0.0 in offsets
    assert spacing[0] <= 0.01 and spacing.max() <= 0.25
    half = spacing[: len(spacing) // 2]
    growth = half[1:] / half[:-1]
    assert (growth <= 1.5 + 1e-9).all() and (growth >= 1.0 - 1e-9).all()


def test_a_bracket_has_a_moderate_number_of_stations() -> None:
    assert 17 <= len(SLOT.station_offsets()) <= 27


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 9, 17, 18, 101])
def test_any_number_of_stations_can_be_asked_for(count: int) -> None:
    offsets = SLOT.station_offsets(count)
    assert len(offsets) == count
    assert offsets[0] == -1.5 and offsets[-1] == 1.5
    assert (offsets == -offsets[::-1]).all() and (np.diff(offsets) > 0.0).all()
    assert not offsets.flags.writeable


def test_the_spacings_of_nine_stations_follow_the_growth() -> None:
    half = np.diff(SLOT.station_offsets(9))[:4]
    np.testing.assert_allclose(half[1:] / half[:-1], 1.5, rtol=1e-12)


def test_an_even_count_has_the_next_spacing_across_the_middle() -> None:
    spacing = np.diff(SLOT.station_offsets(6))
    np.testing.assert_allclose(spacing[1:3] / spacing[:2], 1.5, rtol=1e-12)


@pytest.mark.parametrize("fineness", [0.5, 2.0, 4.0, 8.0])
@pytest.mark.parametrize("count", [None, 26])
def test_finer_stations_follow_the_same_law(fineness: float, count: int | None) -> None:
    """Spacings divided; they grow as much as before over as many of them as the fineness."""
    usual, finer = SLOT.station_offsets(), SLOT.station_offsets(count, fineness)
    assert (finer[0], finer[-1]) == (-1.5, 1.5) and (finer == -finer[::-1]).all()
    half = np.diff(finer)[: len(finer) // 2]
    assert (half[1:6] / half[:5] <= 1.5 ** (1.0 / fineness) + 1e-9).all()
    if count is None:
        assert half[0] <= 0.01 / fineness and half.max() <= 0.25 / fineness
        assert len(finer) == pytest.approx(fineness * len(usual), rel=0.15)


def test_one_station_is_no_slot() -> None:
    with pytest.raises(ValueError, match="both mouths"):
        SLOT.station_offsets(1)
    for bad in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="fineness"):
            SLOT.station_offsets(fineness=bad)


@pytest.mark.parametrize("field", ["height", "depth", "width"])
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_slot_sizes_must_be_finite_and_above_zero(field: str, bad: float) -> None:
    with pytest.raises(ValueError, match=field):
        Slot(**{"height": 0.5, "depth": 0.7, "width": 3.0, field: bad})


@pytest.mark.parametrize("kind", ["bracket", "tube"])
def test_brackets_and_tubes_need_a_slot(kind: str) -> None:
    assert Attachment("a", kind, Pose.identity(), 1.0, SLOT).slot == SLOT  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="a: a .* needs a slot"):
        Attachment("a", kind, Pose.identity(), 1.0)  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", ["button", "clamp"])
def test_buttons_and_clamps_have_none(kind: str) -> None:
    assert Attachment("a", kind, Pose.identity(), 1.0).slot is None  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="a: a .* has no slot"):
        Attachment("a", kind, Pose.identity(), 1.0, SLOT)  # type: ignore[arg-type]


def test_attachments_need_a_name_a_kind_and_a_place() -> None:
    with pytest.raises(ValueError, match="name"):
        Attachment(" ", "button", Pose.identity(), 1.0)
    with pytest.raises(ValueError, match="bracket, tube, button, clamp"):
        Attachment("a", "hook", Pose.identity(), 1.0)  # type: ignore[arg-type]
    for bad in (-0.1, math.nan, math.inf):
        with pytest.raises(ValueError, match="arc length"):
            Attachment("a", "button", Pose.identity(), bad)


def attachment(kind: str, **more: object) -> Attachment:
    slot = SLOT if kind in ("bracket", "tube") else None
    radius = 1.0 if kind == "roller" else 0.0
    return Attachment("a", kind, Pose.identity(), 1.0, **{"slot": slot, "radius": radius, **more})  # type: ignore[arg-type]


def test_a_slot_unless_told_otherwise_is_sharp_parallel_closed_rigid_and_smooth() -> None:
    plain = attachment("bracket")
    assert (SLOT.taper, SLOT.mouth_radius, SLOT.front_height, SLOT.plane_width) == (0.0, 0.0, 0.56, 3.0)
    assert plain.ligation == CLOSED and plain.wall_modulus == math.inf and plain.friction == 0.0


def test_stations_lie_on_the_plane_part_of_the_walls() -> None:
    offsets = Slot(0.56, 0.71, 3.0, mouth_radius=0.2).station_offsets()
    assert (offsets[0], offsets[-1]) == pytest.approx((-1.3, 1.3), abs=1e-15)
    np.testing.assert_array_equal(offsets, Slot(0.56, 0.71, 3.0 - 0.4).station_offsets())


@pytest.mark.parametrize("taper", [-2.0, 2.0])
def test_the_front_is_as_high_as_the_walls_leave_it(taper: float) -> None:
    slot = Slot(0.56, 0.71, 3.0, math.radians(taper))
    # By hand: either wall leans by half the taper over the whole depth.
    assert slot.front_height == pytest.approx(0.56 + 2 * 0.71 * math.tan(math.radians(taper / 2)), rel=1e-15)


@pytest.mark.parametrize(
    ("shape", "message"),
    [
        ({"taper": math.radians(31.0)}, "within 30 deg"),
        ({"taper": math.nan}, "within 30 deg"),
        ({"height": 0.2, "taper": math.radians(-20.0)}, "must not meet"),
        ({"mouth_radius": 1.5}, "below half its width"),
        ({"mouth_radius": -0.1}, "below half its width"),
        ({"mouth_radius": math.nan}, "below half its width"),
    ],
)
def test_shapes_that_are_no_slot(shape: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Slot(**{"height": 0.56, "depth": 0.71, "width": 3.0, **shape})


@pytest.mark.parametrize("kind", ["button", "clamp", "knife edge", "roller"])
@pytest.mark.parametrize(
    ("what", "value"),
    [("slot", SLOT), ("ligation", Ligation("none")), ("wall_modulus", 2e4)],
)
def test_only_slots_have_walls_and_ligation(kind: str, what: str, value: object) -> None:
    with pytest.raises(ValueError, match=f"a: a {kind} has no (slot|ligation|walls)"):
        attachment(kind, **{what: value})


@pytest.mark.parametrize("kind", ["knife edge", "roller"])
@pytest.mark.parametrize("what", ["stop", "hold_roll"])
def test_edges_hold_nothing_but_the_wire_up(kind: str, what: str) -> None:
    assert attachment(kind).is_edge and not attachment(kind).has_slot
    with pytest.raises(ValueError, match="neither stops the wire nor holds its roll"):
        attachment(kind, **{what: True})


@pytest.mark.parametrize(
    ("kind", "more", "message"),
    [
        ("bracket", {"thread": Thread(0.5)}, "only a button"),
        ("roller", {"thread": Thread(0.5)}, "only a button"),
        ("button", {"friction": 0.1}, "a button knows no friction"),
        ("clamp", {"friction": 0.1}, "a clamp knows no friction"),
        ("bracket", {"friction": -0.1}, "coefficient of friction"),
        ("bracket", {"friction": math.nan}, "coefficient of friction"),
        ("knife edge", {"friction": math.inf}, "coefficient of friction"),
        ("bracket", {"wall_modulus": 0.0}, "modulus of the walls"),
        ("bracket", {"wall_modulus": math.nan}, "modulus of the walls"),
        ("roller", {"radius": 0.0}, "a roller, and nothing else"),
        ("roller", {"radius": math.inf}, "a roller, and nothing else"),
        ("knife edge", {"radius": 1.0}, "a roller, and nothing else"),
        ("bracket", {"radius": 1.0}, "a roller, and nothing else"),
    ],
)
def test_what_does_not_belong(kind: str, more: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=f"a: .*{message}"):
        attachment(kind, **more)


@pytest.mark.parametrize(
    ("ligation", "rest"),
    [
        # A spring of 2 N/mm that presses with 1.5 N is let go 0.75 mm lower.
        (Ligation("elastomeric"), 0.6 - 0.75),
        (Ligation("elastomeric", force=1.0, stiffness=4.0), 0.6 - 0.25),
        (Ligation("steel ligature"), 0.6),
        (Ligation("steel ligature", slack=0.05), 0.65),
        (Ligation("active clip"), 0.6 - 0.2),
        (Ligation("active clip", reach=0.45), 0.45),
    ],
)
def test_where_a_ligature_begins_to_bear_on_a_wire_of_06_mm(ligation: Ligation, rest: float) -> None:
    assert ligation.is_elastic
    assert ligation.rest(0.6) == pytest.approx(rest, abs=1e-15)


@pytest.mark.parametrize("kind", ["closed", "none"])
def test_a_door_and_an_open_front_are_no_springs(kind: str) -> None:
    assert not Ligation(kind).is_elastic  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="no spring"):
        Ligation(kind).rest(0.6)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "more", "message"),
    [
        ("rubber", {}, "ligation is closed, elastomeric"),
        ("closed", {"force": 1.0}, "ligation closed has no force"),
        ("none", {"stiffness": 1.0}, "ligation none has no stiffness"),
        ("elastomeric", {"slack": 0.1}, "ligation elastomeric has no slack"),
        ("steel ligature", {"force": 1.0}, "ligation steel ligature has no force"),
        ("active clip", {"slack": 0.1}, "ligation active clip has no slack"),
        ("active clip", {"force": 1.0, "reach": 0.5}, "not both"),
        ("elastomeric", {"force": -1.0}, "force of a ligature"),
        ("elastomeric", {"force": math.inf}, "force of a ligature"),
        ("elastomeric", {"stiffness": 0.0}, "stiffness of a ligature"),
        ("steel ligature", {"slack": math.nan}, "slack of a ligature"),
        ("active clip", {"reach": 0.0}, "reach of a clip"),
    ],
)
def test_ligations_that_are_none(kind: str, more: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Ligation(kind, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("length", "stiffness"), [(0.0, 1.0), (math.nan, 1.0), (math.inf, 1.0), (0.5, 0.0), (0.5, -1.0)]
)
def test_a_thread_has_a_length_and_a_stiffness(length: float, stiffness: float) -> None:
    with pytest.raises(ValueError, match="of a thread"):
        Thread(length, stiffness)
    assert Thread(0.5).stiffness == math.inf

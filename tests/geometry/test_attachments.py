"""Slots, their contact stations, and what may be attached with what."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.attachments import Attachment, Slot
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


def test_one_station_is_no_slot() -> None:
    with pytest.raises(ValueError, match="both mouths"):
        SLOT.station_offsets(1)


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

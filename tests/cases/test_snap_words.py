"""What is told of a wire that was let down to rest."""

from __future__ import annotations

from cases.sentences import left_words, snap_words, unstable_words


def test_nothing_is_told_where_every_increment_found_its_equilibrium_nearby() -> None:
    assert snap_words([]) == ()


def test_how_often_and_where_first() -> None:
    (told,) = snap_words([("activation", 0.475, 1.0), ("activation", 0.5, 0.25), ("stage back", 0.1, 0.0)])
    assert told.startswith("In 3 increments, first at 48 % of the activation,")
    assert "may have snapped" in told and "1.25 N mm were set free" in told
    (once,) = snap_words([("activation", 1.0, 0.0)])
    assert once.startswith("In one increment, first at 100 % of the activation,")


def test_from_where_on_it_is_unstable_and_what_can_be_done() -> None:
    assert unstable_words([], False) == ()
    (told,) = unstable_words([("activation", 0.7), ("activation", 0.8)], False)
    assert told.startswith("Unstable from 70 % of the activation on") and "snap = true" in told
    (let_go,) = unstable_words([("activation", 0.7)], True)
    assert "snap = true" not in let_go and "no other shape" in let_go


def test_which_slots_the_wire_left_and_that_they_hold_nothing_since() -> None:
    assert left_words([]) == ()
    first, second = left_words([("canine bracket", "activation", 0.536), ("molar tube", "stage back", 1.0)])
    assert first.startswith(
        "The wire left canine bracket through the front of its slot at 54 % of the activation"
    )
    assert "no equilibrium was found with it half out" in first and "is taken to hold nothing" in first
    assert "molar tube" in second and "100 % of the stage back" in second

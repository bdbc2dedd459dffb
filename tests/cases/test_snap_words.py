"""What is told of a wire that was let down to rest."""

from __future__ import annotations

from cases.sentences import snap_words


def test_nothing_is_told_where_every_increment_found_its_equilibrium_nearby() -> None:
    assert snap_words([]) == ()


def test_how_often_and_where_first() -> None:
    (told,) = snap_words([("activation", 0.475, 1.0), ("activation", 0.5, 0.25), ("stage back", 0.1, 0.0)])
    assert told.startswith("In 3 increments, first at 48 % of the activation,")
    assert "may have snapped" in told and "1.25 N mm were set free" in told
    (once,) = snap_words([("activation", 1.0, 0.0)])
    assert once.startswith("In one increment, first at 100 % of the activation,")

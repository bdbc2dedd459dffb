"""What is told of a wire that was let down to rest."""

from __future__ import annotations

from cases.sentences import snap_words


def test_nothing_is_told_where_every_increment_found_its_equilibrium_nearby() -> None:
    assert snap_words([]) == ()


def test_how_often_and_where_first() -> None:
    (told,) = snap_words([("activation", 0.475), ("activation", 0.5), ("stage back", 0.1)])
    assert told.startswith("In 3 increments, first at 48 % of the activation,")
    assert "may have snapped" in told
    (once,) = snap_words([("activation", 1.0)])
    assert once.startswith("In one increment, first at 100 % of the activation,")

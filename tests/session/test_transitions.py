"""The table of states is whole: every state is reached and left, every condition and event is known, and README.md
shows the picture that is drawn from it.
"""

from __future__ import annotations

from diagnose.session.diagram import diagram
from diagnose.session.events import KINDS
from diagnose.session.judging import CONDITIONS
from diagnose.session.transitions import ENDS, FORKS, STATES, TABLE, ways_from
from tests.house.documents import blocks, read


def test_every_state_is_reached_and_named() -> None:
    reached, found = {"alarm"}, {"alarm"}
    while found:
        found = {way.target for way in TABLE if way.state in (*found, "*")} - reached
        reached |= found
    assert reached == {*STATES, *FORKS}
    assert {way.state for way in TABLE} - {"*"} <= reached


def test_every_condition_and_event_is_known_and_used() -> None:
    assert {way.condition for way in TABLE} == set(CONDITIONS)
    assert {way.event for way in TABLE} - {""} == set(KINDS) - {"undo", "why"}


def test_a_fork_is_left_at_once_and_always() -> None:
    for state in FORKS:
        ways = ways_from(state, "")
        assert ways[-1].condition == "", "the last way is for all that is left"
        assert all(way.condition for way in ways[:-1]), "a way behind one without condition is never taken"


def test_every_way_on_an_event_has_a_last_that_is_always_open() -> None:
    for state in (s for s in STATES if s not in ENDS):
        assert ways_from(state, "stop")
        for event in KINDS:
            ways = ways_from(state, event)
            assert not ways or ways[-1].condition == "", (state, event)


def test_an_end_can_be_taken_up_again() -> None:
    assert all(ways_from(end, "reopen") for end in ENDS)


def test_the_picture_for_contributors_is_drawn_from_the_table() -> None:
    assert f"{diagram()}\n" in blocks(read("DEVELOPERS.md"), "mermaid")

"""The states of a walk and the ways between them, as one table.

Two rules of this file: every way stands in the table, and a way is taken only where its condition (a name that
`judging` knows) holds, the first that does. A state in `FORKS` is left at once; all others wait for an event. The
picture in README.md is drawn from this table.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

__all__ = ["ENDS", "FORKS", "STATES", "TABLE", "Way", "reached", "ways_from"]

#: state -> what is asked there
STATES: dict[str, str] = {
    "alarm": "does anything smoke, smell, hiss, swell, run hot or wet?",
    "standing": "where does it stand?",
    "tools": "which tools are at hand?",
    "meter": "what does the meter read on a known battery?",
    "complaint": "what is the complaint?",
    "seen": "what has been seen already?",
    "test": "the test that tells most",
    "doubt": "a reading that nothing explains: is it so?",
    "again": "a reading that the others contradict: once more",
    "repair": "the fault is found: mend it",
    "proof": "the reading that proves the repair",
    "ended": "another end, with what is known",
    "done": "repaired and proved",
    "danger": "danger: leave it, and what to do",
    "stopped": "put away; it can be taken up again",
}
#: a state that is left at once, by the first way whose condition holds -> what it decides
FORKS: dict[str, str] = {"begin": "what is still to be told?", "weigh": "what do the readings say?"}
ENDS = ("ended", "done", "danger", "stopped")


class Way(NamedTuple):
    """A way from a state: on which event (none from a fork), under which condition (none: always), to which state."""

    state: str
    event: str
    condition: str
    target: str


TABLE: tuple[Way, ...] = (
    Way("alarm", "alarm", "a sign of danger is named", "danger"),
    Way("alarm", "alarm", "", "begin"),
    Way("standing", "standing", "", "begin"),
    Way("tools", "tools", "", "begin"),
    Way("meter", "meter", "", "begin"),
    Way("complaint", "complaint", "the complaint itself is a sign of danger", "alarm"),
    Way("complaint", "complaint", "", "begin"),
    Way("seen", "seen", "", "begin"),
    Way("begin", "", "a reading means danger", "danger"),
    Way("begin", "", "danger has not been asked for", "alarm"),
    Way("begin", "", "it is not known where it stands", "standing"),
    Way("begin", "", "the tools are not known", "tools"),
    Way("begin", "", "the meter is not proved", "meter"),
    Way("begin", "", "the complaint is not known", "complaint"),
    Way("begin", "", "more may have been seen", "seen"),
    Way("begin", "", "", "weigh"),
    Way("test", "reading", "nothing explains it", "doubt"),
    Way("test", "reading", "", "weigh"),
    Way("test", "cannot", "", "weigh"),
    Way("test", "repaired", "", "weigh"),
    Way("doubt", "reading", "", "weigh"),
    Way("doubt", "keep", "", "weigh"),
    Way("doubt", "cannot", "", "weigh"),
    Way("again", "reading", "", "weigh"),
    Way("again", "keep", "", "weigh"),
    Way("again", "cannot", "", "weigh"),
    Way("repair", "repaired", "", "weigh"),
    Way("repair", "leave", "", "ended"),
    Way("repair", "reading", "", "weigh"),
    Way("proof", "reading", "nothing explains it", "doubt"),
    Way("proof", "reading", "", "weigh"),
    Way("proof", "cannot", "", "weigh"),
    Way("weigh", "", "a reading means danger", "danger"),
    Way("weigh", "", "a repair is still to be proved", "proof"),
    Way("weigh", "", "every repair is proved", "done"),
    Way("weigh", "", "the others contradict a reading", "again"),
    Way("weigh", "", "the fault is found", "repair"),
    Way("weigh", "", "no test pays any more", "ended"),
    Way("weigh", "", "", "test"),
    Way("ended", "repaired", "", "weigh"),
    Way("ended", "reading", "", "weigh"),
    Way("stopped", "reopen", "", "alarm"),
    Way("ended", "reopen", "", "alarm"),
    Way("done", "reopen", "", "alarm"),
    Way("danger", "reopen", "", "alarm"),
    Way("*", "retract", "", "begin"),
    Way("*", "reading", "", "begin"),
    Way("*", "tools", "", "begin"),
    Way("*", "complaint", "", "begin"),
    Way("*", "stop", "", "stopped"),
)


def ways_from(state: str, event: str) -> tuple[Way, ...]:
    """Return the ways from a state on an event, in the order in which their conditions are tried.

    >>> [way.target for way in ways_from("alarm", "alarm")], [way.target for way in ways_from("meter", "stop")]
    (['danger', 'begin'], ['stopped'])
    """
    own = tuple(way for way in TABLE if (way.state, way.event) == (state, event))
    return own or tuple(way for way in TABLE if (way.state, way.event) == ("*", event))


def reached(ways: Iterable[Way]) -> frozenset[str]:
    """Return the states that these ways may end in, through the forks.

    >>> sorted(reached(ways_from("repair", "leave"))), "proof" in reached(ways_from("test", "reading"))
    (['ended'], True)
    """
    targets = frozenset(way.target for way in ways)
    forks = targets & FORKS.keys()
    return (targets - forks).union(*(reached(ways_from(fork, "")) for fork in forks))

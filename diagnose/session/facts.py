"""What has been told in a walk, as one frozen record, and how each event changes it.

A fact is what was said or read. What follows from it is the business of `judging`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Reading, Take
from diagnose.session.events import Event

__all__ = ["Check", "Facts", "told"]


class Check(NamedTuple):
    """A reading that is to be seen after a repair: with its band, and whether it is of the repair or a neighbour."""

    expected: Expected
    neighbour: bool = False


class Facts(NamedTuple):
    """What has been told: answers of the start, readings with repairs between them, and what is still to be proved.

    `pending` is a reading that nothing explains and that waits to be confirmed; `kept`, tests whose reading was
    confirmed; `checks`, what is to be seen after the last repair, and `failed`, the tests among them that were not as
    they should be; `given`, ids of cautions shown since the vehicle was put into its `condition`; `earlier`, tests that
    were asked for before the walk last went on after an end; `looking`, whether it went on after one.
    """

    state: str = "alarm"
    alarm: str | None = None
    standing: str | None = None
    tools: tuple[str, ...] | None = None
    meter: Read | None = None
    complaint: str | None = None
    all_seen: bool = False
    readings: tuple[Reading, ...] = ()
    pending: Reading | None = None
    kept: tuple[Take, ...] = ()
    checks: tuple[Check, ...] = ()
    checked: tuple[Take, ...] = ()
    failed: tuple[Take, ...] = ()
    left: FaultAt | None = None
    asked: int = 0
    given: frozenset[str] = frozenset()
    condition: str = ""
    earlier: int = 0
    looking: bool = False

    @property
    def mended(self) -> tuple[FaultAt, ...]:
        """Return the faults that were repaired, in order."""
        return tuple(r.repaired for r in self.readings if r.repaired is not None)

    def needed(self, vain: Sequence[int]) -> tuple[FaultAt, ...]:
        """Return the faults that were repaired, without the repairs of these numbers unless no other is left: where
        all is proved, something was mended.
        """
        return tuple(fault for k, fault in enumerate(self.mended) if k not in vain) or self.mended

    @property
    def unproved(self) -> bool:
        """Whether the reading that was to prove the last repair was not as it should be."""
        return any(c.expected.take in self.failed for c in self.checks if not c.neighbour)

    @property
    def wanted(self) -> Check | None:
        """Return the next check after a repair, or None."""
        return next((c for c in self.checks if c.expected.take not in self.checked), None)


def told(facts: Facts, event: Event) -> Facts:
    """Return the facts after an event; the state is left as it was."""
    return _TOLD[event.kind](facts, event)


def _tools(facts: Facts, event: Event) -> Facts:
    return facts._replace(tools=tuple(event.text.split(",")))


def _meter(facts: Facts, event: Event) -> Facts:
    read = event.reading.read if event.reading is not None else None
    return facts._replace(meter=read or Read("skipped", event.text or "skipped"))


def _complaint(facts: Facts, event: Event) -> Facts:
    return facts._replace(complaint=event.text)


def _reading(facts: Facts, event: Event) -> Facts:
    reading = event.reading
    assert reading is not None
    if facts.state in ("doubt", "again"):
        again = _without(facts, reading.take, since_repair=True)
        if reading.take is not None and (again != facts or (facts.pending and facts.pending.take == reading.take)):
            again = again._replace(kept=(*again.kept, reading.take))
        facts = again._replace(pending=None)
    return facts._replace(readings=(*facts.readings, reading))


def _cannot(facts: Facts, event: Event) -> Facts:
    if facts.state == "again":
        return _without(facts, event.reading.take if event.reading else None, since_repair=True)
    if event.reading is None:  # no test was asked for: a record that was edited
        return facts._replace(pending=None)
    return _reading(facts._replace(pending=None), event)


def _keep(facts: Facts, event: Event) -> Facts:
    reading = facts.pending or event.reading
    assert reading is not None
    assert reading.take is not None
    kept = facts._replace(kept=(*facts.kept, reading.take), pending=None)
    return kept._replace(readings=(*kept.readings, reading)) if facts.pending is not None else kept


def _retract(facts: Facts, event: Event) -> Facts:
    number = (event.number or 0) - 1
    if not 0 <= number < len(facts.readings):
        return facts
    dropped = facts.readings[number].take
    if dropped is None:  # a repair: what was to prove it is not asked for any more
        facts = facts._replace(checks=(), checked=(), failed=())
    rest = (*facts.readings[:number], *facts.readings[number + 1 :])
    again = tuple(t for t in facts.checked if t != dropped)
    return facts._replace(readings=rest, checked=again, failed=tuple(t for t in facts.failed if t != dropped))


def _repaired(facts: Facts, event: Event) -> Facts:
    readings = (*facts.readings, Reading(None, None, event.fault))
    return facts._replace(readings=readings, left=None, checked=(), failed=(), looking=False)


def _reopen(facts: Facts, event: Event) -> Facts:
    """Return the facts where a walk goes on: after an end with as many tests as at first, to look for what is wrong
    although nothing was found, or beside what was mended.
    """
    ended = facts.state in ("ended", "done")
    return facts._replace(
        alarm=None, left=None, earlier=facts.asked if ended else facts.earlier,
        looking=facts.looking or ended,
    )  # fmt: skip


def _without(facts: Facts, take: Take | None, since_repair: bool) -> Facts:
    """Return the facts without the last reading of a test, looked for after the last repair only."""
    for index in range(len(facts.readings) - 1, -1, -1):
        reading = facts.readings[index]
        if since_repair and reading.repaired is not None:
            break
        if reading.take == take:
            return facts._replace(readings=(*facts.readings[:index], *facts.readings[index + 1 :]))
    return facts


_TOLD: dict[str, Callable[[Facts, Event], Facts]] = {
    "alarm": lambda facts, event: facts._replace(alarm=event.text),
    "standing": lambda facts, event: facts._replace(standing=event.text),
    "tools": _tools,
    "meter": _meter,
    "complaint": _complaint,
    "seen": lambda facts, event: facts._replace(all_seen=True),
    "reading": _reading,
    "cannot": _cannot,
    "keep": _keep,
    "retract": _retract,
    "repaired": _repaired,
    "leave": lambda facts, event: facts._replace(left=event.fault),
    "stop": lambda facts, event: facts,
    "reopen": _reopen,
}

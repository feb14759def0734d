"""The walk itself: events in, a question or a finding out. No file, no clock, no terminal.

The facts are recomputed from the events that count; so an event can be taken back at any time, and a walk that is read
from a record stands where it stood.
"""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.model.ranking import Ranking, WhyNot
from diagnose.model.reading import Reading
from diagnose.session.advice import Adviser
from diagnose.session.asking import step_of
from diagnose.session.events import Event, effective
from diagnose.session.facts import Facts, told
from diagnose.session.judging import CONDITIONS, Judged
from diagnose.session.steps import Ask, Finding, Meaning
from diagnose.session.transitions import FORKS, ways_from

__all__ = ["OutOfPlace", "Session"]


class OutOfPlace(Exception):  # noqa: N818 - the event's fault, not ours
    """An event that the state of the walk has no way for; the walk is as it was. `event` is the one."""

    def __init__(self, said: str, event: Event) -> None:
        super().__init__(said)
        self.event = event


class Session:
    """One walk. `feed` an event, then look at `step`: an `Ask` to be answered, or a `Finding` where it ends."""

    def __init__(self, adviser: Adviser, events: Iterable[Event] = ()) -> None:
        """Begin a walk, or stand where these events lead."""
        self.adviser = adviser
        self.log: tuple[Event, ...] = ()
        self.facts = Facts()
        self._step: Ask | Finding | None = None
        self._expect: tuple[tuple[str, str], ...] = ()
        given = tuple(events)
        for event in effective(given):
            self._take(event)
        self.log = given

    @property
    def events(self) -> tuple[Event, ...]:
        """Return the events that count, in order."""
        return effective(self.log)

    @property
    def step(self) -> Ask | Finding:
        """Return what is asked now, or how it ended."""
        if self._step is None:
            self._step = step_of(self.facts, self.adviser)
        return self._step

    @property
    def ranking(self) -> Ranking:
        """Return what is thought of the installation now."""
        return self.adviser.ranking(self.facts)

    def why_not(self, label: str) -> WhyNot | None:
        """Return what speaks against a suspect named by fault and part."""
        return self.adviser.why_not(self.facts, label)

    def meaning(self) -> Meaning | None:
        """Return what the last reading means, or None where the last event was none."""
        last = self.events[-1] if self.events else None
        read = last.reading.read if last is not None and last.reading is not None else None
        if last is None or read is None or last.kind not in ("reading", "keep") or read.kind == "skipped":
            return None
        if self.facts.pending is not None or not self.facts.readings or self.facts.readings[-1].take is None:
            return None
        return self.adviser.meaning(self.facts, len(self.facts.readings), self._expect)

    def feed(self, event: Event) -> Ask | Finding:
        """Take one event and return what is asked then.

        Raises: OutOfPlace where the state has no way for it; nothing is changed then.
        """
        if event.kind == "undo":
            if not self.events:
                raise OutOfPlace("there is nothing to take back", event)
            again = Session(self.adviser, effective((*self.log, event)))
            self.facts, self._step, self._expect = again.facts, again._step, again._expect
        elif event.kind != "why":
            self._take(event)
        self.log = (*self.log, event)
        return self.step

    def _take(self, event: Event) -> None:
        """Go the way that an event leads, and on through the forks."""
        ways = ways_from(self.facts.state, event.kind)
        if not ways:
            raise OutOfPlace(f"`{event.kind}` has no place at `{self.facts.state}`", event)
        step = self.step if self.facts.state in ("test", "again", "proof", "doubt", "repair") else None
        after = self._after(event, step)
        target = next(w.target for w in ways if CONDITIONS[w.condition](Judged(after, event, self.adviser)))
        if target == "doubt":
            after = self.facts._replace(pending=event.reading)
        elif target == "alarm":
            after = after._replace(alarm=None)
        after = after._replace(state=target)
        while after.state in FORKS:
            judged = Judged(after, None, self.adviser)
            after = after._replace(
                state=next(w.target for w in ways_from(after.state, "") if CONDITIONS[w.condition](judged))
            )
        self._expect = step.expect if isinstance(step, Ask) else ()
        self.facts, self._step = after, None

    def _after(self, event: Event, step: Ask | Finding | None) -> Facts:
        """Return the facts after an event, with what was asked and shown, and what a repair is to be proved by."""
        facts = told(self.facts, event)
        if isinstance(step, Ask):
            counted = step.kind in ("test", "again") and event.kind in ("reading", "cannot", "keep")
            facts = facts._replace(asked=facts.asked + counted)
            if step.take is not None and event.kind in ("reading", "cannot"):
                shown = frozenset(r.id for r in step.cautions)
                kept = self.facts.given if step.take.when == self.facts.condition else frozenset()
                facts = facts._replace(given=kept | shown, condition=step.take.when)
        if event.kind == "repaired" and event.fault is not None:
            return facts._replace(checks=self.adviser.checks(facts, event.fault), given=frozenset(), condition="")
        if event.kind in ("reading", "cannot", "keep") and facts.checks:
            facts = self._checked(facts, event.reading or self.facts.pending)
        return facts

    def _checked(self, facts: Facts, reading: Reading | None) -> Facts:
        """Return the facts with a reading after a repair held against what it should be."""
        check = next((c for c in facts.checks if reading is not None and c.expected.take == reading.take), None)
        if check is None or reading is None or reading.take is None or reading.read is None:
            return facts
        if reading.read.kind == "skipped":
            if check.neighbour:
                return facts._replace(checked=(*facts.checked, reading.take))
            return facts._replace(checks=self.adviser.checks(facts, facts.mended[-1]), checked=())
        good = self.adviser.as_expected(check.expected, reading.read)
        checked, failed = (tuple(t for t in takes if t != reading.take) for takes in (facts.checked, facts.failed))
        return facts._replace(checked=(*checked, reading.take), failed=failed if good else (*failed, reading.take))

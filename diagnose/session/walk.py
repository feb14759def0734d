"""The walk itself: events in, a question or a finding out. No file, no clock, no terminal.

The facts are recomputed from the events that count; so an event can be taken back at any time, and a walk that is read
from a record stands where it stood. Where the record tells which state each event led to, only the last is judged
again; and which cautions were shown is worked out when a question is next asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from diagnose.model.ranking import Ranking, WhyNot
from diagnose.model.reading import Reading
from diagnose.session.advice import Adviser
from diagnose.session.asking import step_of
from diagnose.session.events import Event, effective
from diagnose.session.facts import Facts, told
from diagnose.session.judging import CONDITIONS, Judged
from diagnose.session.steps import Ask, Finding, Meaning
from diagnose.session.transitions import FORKS, Way, reached, ways_from

__all__ = ["OutOfPlace", "Session"]

#: states whose question tells what was asked for and shown
ASKING = ("test", "again", "proof", "doubt", "repair")


class OutOfPlace(Exception):  # noqa: N818 - the event's fault, not ours
    """An event that the state of the walk has no way for; the walk is as it was. `event` is the one."""

    def __init__(self, said: str, event: Event) -> None:
        super().__init__(said)
        self.event = event


class Session:
    """One walk. `feed` an event, then look at `step`: an `Ask` to be answered, or a `Finding` where it ends."""

    def __init__(self, adviser: Adviser, events: Iterable[Event] = (), states: Sequence[str] = ()) -> None:
        """Begin a walk, or stand where these events lead.

        Parameters: `states`, where each of the events led when it was told; taken as they are but for the last,
        which is judged. Where they do not fit, or it leads elsewhere now, all are judged.
        """
        self.adviser = adviser
        self.log: tuple[Event, ...] = ()
        given = tuple(events)
        self._begin()
        if not (states and self._led(given, states)):
            self._begin()
            for event in effective(given):
                self._take(event)
        self.log = given

    def _begin(self) -> None:
        """Stand at the start."""
        self.facts = Facts()
        self._step: Ask | Finding | None = None
        self._asked: Facts | None = None  # where the last event was told, its question not worked out yet
        self._expect: tuple[tuple[str, str], ...] = ()
        self._unshown: tuple[Facts, ...] = ()  # where cautions were shown that `facts` does not know of yet

    def _led(self, given: tuple[Event, ...], states: Sequence[str]) -> bool:
        """Go the ways that were gone when the events were told; return whether the last leads where it led then."""
        if len(states) != len(given):
            return False
        # The state is found by the event itself, since an equal one may have been told twice.
        state_of = {id(event): state for event, state in zip(given, states, strict=True)}
        counting = effective(given)
        if len(state_of) != len(given):
            return False
        for event in counting[:-1]:
            if not self._take(event, state_of[id(event)]):
                return False
        if counting:
            self._take(counting[-1])
        return not counting or self.facts.state == state_of[id(counting[-1])]

    @property
    def events(self) -> tuple[Event, ...]:
        """Return the events that count, in order."""
        return effective(self.log)

    @property
    def step(self) -> Ask | Finding:
        """Return what is asked now, or how it ended."""
        if self._step is None:
            if self.facts.state in ASKING:
                self._show()
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
        if self._asked is not None:
            step = step_of(self._asked, self.adviser)
            self._expect, self._asked = step.expect if isinstance(step, Ask) else (), None
        return self.adviser.meaning(self.facts, len(self.facts.readings), self._expect)

    def ahead(self) -> Callable[[], None] | None:
        """Return what may be done while the person is busy with what is asked, so that what follows comes sooner; None
        where nothing can be. Nothing else of the session must be used until it is done.
        """
        facts, step = self.facts, self.step
        if not isinstance(step, Ask):
            return None
        take = step.take
        if take is not None:
            return lambda: self.adviser.ahead(facts, Reading(take, self.adviser.likely(take)))
        if step.finding is not None and step.finding.entry is not None:
            mended = Reading(None, None, step.finding.entry.fault)
            return lambda: self.adviser.ahead(facts, mended)
        return None

    def feed(self, event: Event) -> Ask | Finding:
        """Take one event and return what is asked then.

        Raises: OutOfPlace where the state has no way for it; nothing is changed then.
        """
        if event.kind == "undo":
            if not self.events:
                raise OutOfPlace("there is nothing to take back", event)
            again = Session(self.adviser, effective((*self.log, event)))
            self.facts, self._step, self._expect = again.facts, again._step, again._expect
            self._asked, self._unshown = again._asked, again._unshown
        elif event.kind != "why":
            self._take(event)
        self.log = (*self.log, event)
        return self.step

    def _take(self, event: Event, state: str | None = None) -> bool:
        """Go the way that an event leads, and on through the forks; to `state` where that is given, unasked.

        Returns: whether the state given can be reached.
        """
        ways = ways_from(self.facts.state, event.kind)
        if not ways:
            raise OutOfPlace(f"`{event.kind}` has no place at `{self.facts.state}`", event)
        if state is not None and state not in reached(ways):
            return False
        before, step = self.facts, self._step
        after = self._after(event)
        target = self._target(ways, after, event) if state is None else state
        if target == "doubt":
            after = before._replace(pending=event.reading)
        elif target == "alarm":
            after = after._replace(alarm=None)
        after = after._replace(state=target)
        while after.state in FORKS:
            after = after._replace(state=self._target(ways_from(after.state, ""), after, None))
        self._expect = step.expect if isinstance(step, Ask) else ()
        self._asked = before if step is None and before.state in ASKING else None
        if event.kind == "repaired" and event.fault is not None:
            self._unshown = ()
        elif before.state in ASKING and event.kind in ("reading", "cannot") and target != "doubt":
            self._unshown = (*self._unshown, before)
        self.facts, self._step = after, None
        return True

    def _target(self, ways: Sequence[Way], facts: Facts, event: Event | None) -> str:
        """Return where the first way leads whose condition holds."""
        judged = Judged(facts, event, self.adviser)
        return next(way.target for way in ways if CONDITIONS[way.condition](judged))

    def _after(self, event: Event) -> Facts:
        """Return the facts after an event, with what was asked, and what a repair is to be proved by."""
        facts = told(self.facts, event)
        # A test whose reading was doubted counts when the doubt is settled; a proof never does.
        tested = ("test", "again", *(("doubt",) if self.facts.wanted is None else ()))
        if self.facts.state in tested and event.kind in ("reading", "cannot", "keep"):
            facts = facts._replace(asked=facts.asked + 1)
        if event.kind == "repaired" and event.fault is not None:
            return facts._replace(checks=self.adviser.checks(facts, event.fault), given=frozenset(), condition="")
        if event.kind in ("reading", "cannot", "keep") and facts.checks:
            facts = self._checked(facts, event.reading or self.facts.pending)
        return facts

    def _show(self) -> None:
        """Bring the cautions up to date that were shown with the questions so far, and the vehicle's condition."""
        for before in self._unshown:
            given, condition = self.facts.given, self.facts.condition
            step = step_of(before._replace(given=given, condition=condition), self.adviser)
            if isinstance(step, Ask) and step.take is not None:
                kept = given if step.take.when == condition else frozenset()
                given, condition = kept | frozenset(r.id for r in step.cautions), step.take.when
            self.facts = self.facts._replace(given=given, condition=condition)
        self._unshown = ()

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

"""A simulated vehicle at the other end of a walk: it answers what is asked, and is mended when it is repaired.

It answers either the session itself with events, or the dialogue of the terminal with lines, as a person would type.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES, Read, Reading
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses
from diagnose.session.advice import Adviser
from diagnose.session.events import Event
from diagnose.session.steps import Ask, Finding
from diagnose.session.walk import Session
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.rules import load_rules
from diagnose.store.tables import load_tables

TOOLS = ("multimeter", "clamp", "eyes", "hands")


@cache
def rule_base() -> tuple[RuleBase, Tables]:
    return load_rules(), load_tables(rules_folder())


@cache
def adviser(layout: str) -> Adviser:
    return Adviser(load_layout(layout), *rule_base())


def hypothesis(layout: str, label: str) -> Hypothesis:
    """Return the first hypothesis whose label begins like this."""
    return next(h for h in hypotheses(layout) if h.label.startswith(label))


@cache
def hypotheses(layout: str) -> tuple[Hypothesis, ...]:
    return all_hypotheses(load_layout(layout), rule_base()[0])


class Asked(NamedTuple):
    """One question as it was put, what it was answered, and what was known then."""

    ask: Ask
    event: Event


class Bench:
    """A vehicle with a fault, and somebody beside it who does what the walk asks."""

    def __init__(
        self, layout: str, hidden: Hypothesis, seed: int, tools: Sequence[str] = TOOLS,
        also: Sequence[Hypothesis] = (), complaint: str = "",
    ) -> None:  # fmt: skip
        self.installation: Installation = load_layout(layout)
        self.hidden, self.seed, self.tools = hidden, seed, tuple(tools)
        self.vehicle = SimulatedVehicle(self.installation, *rule_base(), hidden, seed, also=also)
        self.complaint = complaint
        self.asked: list[Asked] = []
        self.mended: list[FaultAt] = []

    def mend(self, fault: FaultAt) -> None:
        """Mend a place: the fault is gone if it was there."""
        self.mended.append(fault)
        self.vehicle = self.vehicle.mended(fault)

    def event(self, ask: Ask) -> Event:
        """Return what a person would tell."""
        event = self._event(ask)
        self.asked.append(Asked(ask, event))
        return event

    def _event(self, ask: Ask) -> Event:
        if ask.kind in _START:
            own = {"tools": Event("tools", ",".join(self.tools)), "complaint": Event("complaint", self.complaint)}
            return own.get(ask.kind, _START[ask.kind])
        if ask.kind == "repair":
            assert ask.finding is not None
            assert ask.finding.entry is not None
            fault = ask.finding.entry.fault
            self.mend(fault)
            return Event("repaired", fault=fault)
        if ask.kind == "doubt":
            return Event("keep")
        if ask.kind == "again":
            return Event("keep", reading=ask.pending)
        assert ask.take is not None
        read, unit = self.vehicle.answer(ask.take), QUANTITIES[ask.take.quantity][1]
        if unit and read.kind in ("number", "unsteady") and not read.text.endswith(unit):
            read = read._replace(text=f"{read.text} {unit}")
        return Event("reading", reading=Reading(ask.take, read))

    def walk(self, session: Session, most: int = 60) -> Finding:
        """Answer a session to its end."""
        for _ in range(most):
            step = session.step
            if isinstance(step, Finding):
                return step
            session.feed(self.event(step))
        raise AssertionError("the walk does not end")

    def readline(self, size: int = -1) -> str:
        """Return the next line to type; `session` must have been set."""
        step = self.session.step
        assert isinstance(step, Ask)
        event = self.event(step)
        if event.kind == "reading":
            assert event.reading is not None
            assert event.reading.read is not None
            return f"{event.reading.read.text}\n"
        return f"{event.text or _TYPED.get((step.kind, event.kind), event.kind)}\n"

    def isatty(self) -> bool:
        return False

    session: Session


_KNOWN = Reading(None, Read("number", "12.6 V", 12.6))
_START = {
    "alarm": Event("alarm", "none"), "standing": Event("standing", "off_road"), "tools": Event("tools"),
    "meter": Event("meter", "12.6 V", _KNOWN), "complaint": Event("complaint", ""), "seen": Event("seen"),
}  # fmt: skip
_TYPED = {("complaint", "complaint"): "none", ("seen", "seen"): "done"}

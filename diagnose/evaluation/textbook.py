"""A walk through a fixed order of tests, as a competent hand with a printed flowchart would do it.

The order itself is data; this file only knows how a step is done. It knows no engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.circuit.graph import lug
from diagnose.circuit.topology import start_batteries, way
from diagnose.evaluation.meter import Meter, OutOfTimeError
from diagnose.evaluation.ways import fault_on, halved, last_live, nearest_battery
from diagnose.inference.candidates import lamps_of, states_of
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Cable, Charger
from diagnose.model.reading import Read, Take
from diagnose.model.terminals import ends_of
from diagnose.model.textbook import TextbookOrder, TextbookStep

__all__ = ["follow"]

#: volts above which a point is live
LIVE = 6.0
#: what `OL` counts as [ohm]
OVER = 1e6


def follow(order: TextbookOrder, meter: Meter, complaint: str | None = None) -> FaultAt | None:
    """Walk through the order, the blocks that a complaint calls for first.

    Returns: the fault it ends in; None where nothing is found, or time is up.
    """
    walk = _Walk(order, meter)
    try:
        for step in _in_order(order, complaint):
            if step.main:
                for subject in walk.subjects(step):
                    if (found := walk.do(step, subject)) is not None:
                        return found
    except OutOfTimeError:
        pass
    return None


def _in_order(order: TextbookOrder, complaint: str | None) -> list[TextbookStep]:
    """Return the steps, those of the blocks that a complaint calls for first."""
    first = order.first.get(complaint or "", ())
    return sorted(order.steps, key=lambda s: first.index(s.block) if s.block in first else len(first))


class _Walk:
    """One walk: the steps by name, the installation, the meter."""

    def __init__(self, order: TextbookOrder, meter: Meter) -> None:
        self.steps = {step.id: step for step in order.steps}
        self.meter, self.installation = meter, meter.vehicle.installation
        self.starters = start_batteries(self.installation)
        self.states = {*states_of(self.installation), "cranking"}

    def subjects(self, step: TextbookStep, sent_by: str = "") -> Iterator[str]:
        """Yield the parts, or lugs, that a step is done for; `sent_by`, the part from which it was sent to."""
        for name, part in self.installation.parts.items():
            if not isinstance(part, Battery):
                role: str = part.kind
            else:
                role = "start_battery" if name in self.starters else "house_battery"
            wanted = step.each == role or (step.each == "battery" and part.kind == "battery")
            keyed = step.needs is None or getattr(part, step.needs, None) is not None
            if wanted and keyed and all(str(getattr(part, k, None)) == v for k, v in step.only.items()):
                yield name
        if step.each == "charger_lug":
            yield from _charger_lugs(self.installation)
        if step.each == "cable_beyond" and sent_by:
            ends = ends_of(self.installation.parts[sent_by.partition("@")[0]])
            parts = self.installation.parts.items()
            yield from (n for n, p in parts if isinstance(p, Cable) and set(p.ends) & set(ends) and n != sent_by)

    def do(self, step: TextbookStep, subject: str) -> FaultAt | None:
        """Do one step for one part; return the fault it ends in."""
        places = [self._place(text, step, subject) for text in step.at]
        if None in places or step.when not in self.states or len(set(places)) < len(places):
            return None
        where = tuple(p for p in places if p is not None)
        take = Take(step.quantity, self._lamp(where) if step.quantity == "lamp" else where, step.when)
        verdict = _verdict(step, read := self.meter.read(take))
        if not verdict:
            return None
        if step.halve and (found := self._halve(step, subject, take, read)) is not None:
            return found
        for name in step.then:
            other = self.steps[name]
            for each in [subject] if other.each == step.each else list(self.subjects(other, subject)):
                if (found := self.do(other, each)) is not None:
                    return found
        part, _, at = subject.partition("@")
        return FaultAt(step.ends[verdict], part, at or None) if verdict in step.ends else None

    def _halve(self, step: TextbookStep, subject: str, take: Take, read: Read) -> FaultAt | None:
        """Halve the way between the points of a step, or the way that it names."""
        ends = take.where if step.way is None else tuple(self._place(t, step, subject) for t in step.way)
        a, b = ends
        edges = way(self.installation, a, b) if a is not None and b is not None else []
        if not edges or a is None:
            return None
        if step.halve == "live":
            live = last_live(edges, a, lambda p: abs(_largest(self._between(p, take.where[1], take.when))) > LIVE)
            return fault_on(live, 2.0 * LIVE)
        lost, kind = _largest(read), take.quantity
        edge = halved(edges, a, lost, lambda p, q: _largest(self._between(p, q, take.when, kind)))
        return fault_on(edge, lost if kind == "volts" or lost >= OVER else 0.0)

    def _lamp(self, where: tuple[str, ...]) -> tuple[str, ...]:
        lamps = lamps_of(self.installation)
        return (next(iter(lamps.values())) if len(lamps) == 1 else lamps[where[0]],)

    def _between(self, a: str, b: str, when: str, kind: str = "volts") -> Read:
        """Read volts or ohms between two points; nothing lies between a point and itself."""
        return Read("number", "0", 0.0) if a == b else self.meter.read(Take(kind, (a, b), when))

    def _place(self, text: str, step: TextbookStep, subject: str) -> str | None:
        """Return the point that a place of a step means for one part, or None where there is none."""
        if text == "this":
            return subject
        name, _, end = subject.partition("@")
        if text == "point":
            return end
        part = self.installation.parts[name]
        if text in ("end1", "end2"):
            return ends_of(part)[int(text[-1]) - 1]
        owner, _, key = text.rpartition(".")
        if owner == "start":
            found = next((self.installation.parts[n] for n in sorted(self.starters)), None)
            return getattr(found, key, None)
        if owner == "charger":
            chargers = [p for p in self.installation.parts.values() if isinstance(p, Charger) and p.solar]
            return getattr(chargers[0], key, None) if chargers else None
        if owner == "battery":
            own = [t for t in (*step.at, *(step.way or ())) if "." not in t]
            beside = self._place(own[0], step, subject) if own else None
            return None if beside is None else nearest_battery(self.installation, beside, key)
        return getattr(part, key, None)


def _charger_lugs(installation: Installation) -> Iterator[str]:
    """Yield the lugs of cables at a charger's power studs."""
    chargers = [p for p in installation.parts.values() if isinstance(p, Charger)]
    studs = {p for c in chargers for p in (c.input, c.output, c.negative) if p}
    for name, part in installation.parts.items():
        if isinstance(part, Cable):
            yield from (lug(name, end) for end in part.ends if end in studs)


def _largest(read: Read) -> float:
    """Return the volts or ohms of a reading, of a swinging one the larger end."""
    if read.kind == "over_range":
        return OVER
    ends = [v for v in (read.value, read.high) if v is not None]
    return max(ends, key=abs) if ends else 0.0


def _verdict(step: TextbookStep, read: Read) -> str:
    """Return what is wrong with a reading: low, high, the word, or nothing."""
    if step.words:
        return "" if read.word is None or read.word in step.words else read.word
    if read.value is None and read.kind != "over_range":
        return ""
    value = abs(_largest(read)) if step.halve == "drop" or read.value is None else read.value
    if step.low is not None and value < step.low:
        return "low"
    return "high" if step.high is not None and value > step.high else ""

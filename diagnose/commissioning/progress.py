"""How far the commissioning of one installation has come: events in, results and the next step out; no I/O, no clock.

An event answers a step, takes the last answer back, or tells of a repair, after which that step and all it could have
disturbed are asked again. Everything is worked out anew from the events.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from diagnose.commissioning.answers import Answer, answer_of
from diagnose.commissioning.bands import Model
from diagnose.commissioning.bench import Bench
from diagnose.commissioning.judging import judged
from diagnose.commissioning.sequence import Planned
from diagnose.inference.danger import dangers
from diagnose.model.commissioning import StepResult
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Reading
from diagnose.model.terminals import points_of

__all__ = ["Commissioning", "StepEvent", "disturbed"]


class StepEvent(NamedTuple):
    """What happened: `answer` to a step (with its time, temperature [degC] and meter as told), `back`, or `repaired`.

    `text` is the answer as typed, or the part that was repaired.
    """

    kind: str
    step: str = ""
    text: str = ""
    time: str = ""
    temperature: float | None = None
    meter: str = ""


def disturbed(part: str, planned: Iterable[Planned], installation: Installation) -> tuple[str, ...]:
    """Return the ids of the steps that a repair of a part could have disturbed.

    Those that speak of the part, of a part that shares a point with it, or that are worked out from such a step.
    """
    if part not in installation.parts:
        return ()
    points = set(points_of(installation.parts[part]))
    near = {n for n, p in installation.parts.items() if n == part or points & set(points_of(p))}
    found = [p.step.id for p in planned if near & set(p.step.judges)]
    found += [p.step.id for p in planned if set(p.step.needs) & set(found)]
    return tuple(dict.fromkeys(found))


class Commissioning:
    """The commissioning of one installation."""

    def __init__(
        self, installation: Installation, tables: Tables, planned: Sequence[Planned], model: Model,
        events: Iterable[StepEvent] = (),
    ) -> None:  # fmt: skip
        """Begin, or go on with the events that were kept."""
        self.installation, self.tables, self.model = installation, tables, model
        self.planned = tuple(planned)
        self.by_id: Mapping[str, Planned] = {p.step.id: p for p in self.planned}
        self.events: list[StepEvent] = []
        self._read: tuple[int, dict[str, StepEvent], dict[str, Answer]] = (-1, {}, {})
        self._judged: dict[str, tuple[object, StepResult]] = {}
        for event in events:
            self.feed(event)

    def feed(self, event: StepEvent) -> None:
        """Take an event in.

        Raises: QuantityError for an answer that the step does not take; KeyError for a step that is not there.
        """
        if event.kind == "answer":
            answer_of(event.text, self.by_id[event.step].step)
        self.events.append(event)

    def _standing(self) -> dict[str, StepEvent]:
        """Return the answer that stands for each step, in the order given; worked out once after each event."""
        if self._read[0] != len(self.events):
            standing = self._stand()
            answers = {name: answer_of(e.text, self.by_id[name].step) for name, e in standing.items()}
            self._read = len(self.events), standing, answers
        return self._read[1]

    def _stand(self) -> dict[str, StepEvent]:
        kept: list[StepEvent] = []
        for event in self.events:
            if event.kind == "back":
                kept = kept[:-1]
            else:
                kept.append(event)
        found: dict[str, StepEvent] = {}
        for event in kept:
            if event.kind == "answer":
                found.pop(event.step, None)
                found[event.step] = event
            elif event.kind == "repaired":
                for step in disturbed(event.text, self.planned, self.installation):
                    found.pop(step, None)
        return found

    @property
    def answers(self) -> dict[str, Answer]:
        """The answers that stand, by step."""
        self._standing()
        return self._read[2]

    def result(self, step: str) -> StepResult:
        """Return what has become of one step."""
        standing, answers = self._standing(), self.answers
        planned = self.by_id[step]
        leans = (step, *planned.step.needs)
        key = tuple(answers.get(name) for name in leans)
        if step not in self._judged or self._judged[step][0] != key:
            self._judged[step] = key, judged(planned, self.bench())
        result = self._judged[step][1]
        event = standing.get(step)
        if event is None:
            return result
        meter = event.meter if planned.step.take is not None else ""
        return result._replace(time=event.time, temperature=event.temperature, meter=meter)

    def results(self) -> tuple[StepResult, ...]:
        """Return what has become of every step, in order."""
        return tuple(self.result(p.step.id) for p in self.planned)

    def open_steps(self) -> tuple[str, ...]:
        """Return the ids of the steps that have not been answered, in order; those worked out from others never are."""
        standing = self._standing()
        return tuple(
            p.step.id for p in self.planned
            if p.step.id not in standing and (p.step.take is not None or p.step.question)
        )  # fmt: skip

    def readings(self) -> tuple[Reading, ...]:
        """Return the readings that stand, in the order given, for whoever looks for a fault."""
        found = []
        for name, answer in self.answers.items():
            take = self.by_id[name].step.take
            if take is not None and answer.read.kind != "skipped":
                found.append(Reading(take, answer.read))
        return tuple(found)

    def bench(self) -> Bench:
        """Return what judging needs, as things stand."""
        return Bench(self.installation, self.tables, self.model, self.by_id, self.answers)

    def danger(self) -> tuple[str, ...]:
        """Return what is dangerous in the readings, each with what to do."""
        return dangers(self.readings(), self.installation, self.tables)

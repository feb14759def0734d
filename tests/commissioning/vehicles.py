"""A simulated vehicle at the other end of a commissioning: it answers every step as somebody would type it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from diagnose.commissioning.bands import Model, current_take
from diagnose.commissioning.expecting import carries_its_own
from diagnose.commissioning.progress import Commissioning, StepEvent
from diagnose.commissioning.sequence import Planned, planned_steps
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import SOUND, Hypothesis, all_hypotheses
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.commissioning_rules import load_step_rules
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.rules import load_rules
from diagnose.store.tables import load_tables


@cache
def base() -> tuple[RuleBase, Tables]:
    return load_rules(), load_tables(rules_folder())


@cache
def steps(layout: str) -> tuple[Installation, tuple[Planned, ...], Model]:
    rules, tables = base()
    installation = load_layout(layout)
    planned = planned_steps(installation, load_step_rules(tables), rules, tables)
    return installation, planned, Model(installation, tables, rules, planned)


def begun(layout: str) -> Commissioning:
    installation, planned, model = steps(layout)
    return Commissioning(installation, base()[1], planned, model)


def hypothesis(layout: str, label: str) -> Hypothesis:
    """Return the first hypothesis whose label begins like this."""
    found = all_hypotheses(load_layout(layout), base()[0])
    return next(h for h in found if h.label.startswith(label)) if label else SOUND


def typed(job: Commissioning, vehicle: SimulatedVehicle) -> Iterator[tuple[str, str]]:
    """Yield what is typed at each step that is open: its id and the answer."""
    bench = job.bench()
    for name in job.open_steps():
        planned = job.by_id[name]
        if planned.step.take is None:
            yield name, "8 mm 6 Nm" if planned.step.judge == "torque" else "yes"
            continue
        text = vehicle.told(planned.step.take).text
        if carries_its_own(planned, bench):
            amps = vehicle.told(current_take(planned))
            text += f" at {amps.text} A" if amps.kind == "number" else ""
        yield name, text


def played(layout: str, vehicle: SimulatedVehicle) -> Commissioning:
    """Return a commissioning in which every step was answered."""
    job = begun(layout)
    for name, text in typed(job, vehicle):
        job.feed(StepEvent("answer", name, text))
    return job


def vehicle_of(layout: str, label: str, seed: int) -> SimulatedVehicle:
    rules, tables = base()
    return SimulatedVehicle(load_layout(layout), rules, tables, hypothesis(layout, label), seed)

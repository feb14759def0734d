"""Two runs on the same vehicles: what is counted, by fault, and when they are not the same."""

from __future__ import annotations

from math import comb

import pytest

from diagnose.evaluation.comparing import Kept, Terms, Vehicle, changes, kept, other_vehicles
from diagnose.evaluation.population import Case
from diagnose.evaluation.run import run
from diagnose.model.fault import FaultAt
from tests.evaluation.small import plan

TERMS = Terms(("multimeter", "eyes"), 0.0, False, False, (("small", "0" * 16),))


def vehicle(number: int, fault: str | None, first: float, minutes: float) -> Vehicle:
    faults = (FaultAt(fault, "input_fuse"),) if fault else ()
    return Vehicle(Case(number, "small", 7, faults, None), first, max(first, 0.5), 0.9, 3, minutes, "found")


def test_what_got_better_and_worse_is_counted_by_fault() -> None:
    old = [vehicle(n, "blown", 0.0, 9.0) for n in range(8)] + [vehicle(n, None, 1.0, 4.0) for n in range(8, 10)]
    new = [vehicle(n, "blown", 1.0, 9.0) for n in range(8)] + [vehicle(8, None, 0.5, 6.5), vehicle(9, None, 1.0, 4.0)]
    every, blown, sound = changes(Kept(TERMS, tuple(old)), Kept(TERMS, tuple(new)))
    assert (every.name, every.out_of, every.better, every.worse, every.slower, every.faster) == ("all", 10, 8, 1, 1, 0)
    assert every.first == pytest.approx((0.2, 0.95))
    assert every.minutes == (9.0, 9.0)
    assert every.chance_first == pytest.approx(2 * (1 + comb(9, 1)) / 2**9)
    assert (blown.name, blown.better, blown.verdicts) == ("blown", 8, ("better",))
    assert blown.chance_first == pytest.approx(2 * 2 / 2**8), "corrected for two faults"
    assert (sound.name, sound.worse, sound.in_three, sound.verdicts) == ("nothing wrong", 1, (1.0, 0.75), ())
    assert sound.minutes == (4.0, 5.25)


def test_more_minutes_in_every_vehicle_are_slower() -> None:
    old = Kept(TERMS, tuple(vehicle(n, "blown", 1.0, 5.0 + n) for n in range(9)))
    new = Kept(TERMS, tuple(vehicle(n, "blown", 1.0, 6.5 + n) for n in range(9)))
    assert [change.verdicts for change in changes(old, new)] == [("slower",), ("slower",)]
    assert [change.verdicts for change in changes(new, old)] == [("faster",), ("faster",)]
    assert [change.verdicts for change in changes(old, old)] == [(), ()]


def test_other_vehicles_are_told() -> None:
    old = Kept(TERMS, tuple(vehicle(n, "blown", 1.0, 5.0) for n in range(3)))
    assert other_vehicles(old, old) is None
    again = Kept(TERMS, tuple(vehicle(n, "blown", 0.0, 9.0) for n in range(3)))
    assert other_vehicles(old, again) is None, "how it went is no part of a vehicle"
    assert other_vehicles(old, old._replace(vehicles=old.vehicles[:2])) == "it has 2 vehicles, the other 3"
    moved = old.vehicles[1]._replace(case=old.vehicles[1].case._replace(seed=8))
    changed = old._replace(vehicles=(old.vehicles[0], moved, old.vehicles[2]))
    assert other_vehicles(old, changed) == "its vehicle 1 is not that of the other"
    assert other_vehicles(old, old._replace(terms=TERMS._replace(tools=("eyes",)))) == "other tools"
    assert other_vehicles(old, old._replace(terms=TERMS._replace(layouts=(("small", "1"),)))) == "other layouts"
    assert other_vehicles(old, old._replace(terms=TERMS._replace(wrong=0.1))) == "`--wrong` is not as it was"


@pytest.mark.slow
def test_the_engine_may_go_by_other_rules_than_the_vehicles() -> None:
    same = plan(2)
    told = kept(same, run(same, 1))
    part = same.layouts[0][1].parts[told.vehicles[0].case.faults[0].part]
    assert told.vehicles[0].chance > 0.9
    faults = same.rules.faults.items()
    others = {name: rule for name, rule in faults if not any(part.kind in place.kinds for place in rule.sits_at)}
    rules = same.rules.model_copy(update={"faults": others})
    other = same._replace(own=(rules, same.tables))
    again = kept(other, run(other, 1))
    assert other_vehicles(told, again) is None
    assert again.vehicles[0].chance == 0.0, "what its own rules know nothing of is not believed"
    assert told.terms.layouts[0][0] == "small"

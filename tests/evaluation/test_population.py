"""The vehicles: always the same ones, with faults that show, of the sizes and shares that are said."""

from __future__ import annotations

import pytest

from diagnose.evaluation.beside import Beside
from diagnose.evaluation.population import NO_HELP, Garage
from diagnose.evaluation.telling import tells
from diagnose.inference.complaints import complaint_ratio
from diagnose.inference.symptoms import symptom_ratios
from diagnose.model.fault import FaultAt
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from tests.evaluation.small import garage, small_installation, story
from tests.inference.engines import rule_base

COUNT = 12


def test_a_vehicle_is_the_same_each_time_whatever_was_drawn_before() -> None:
    again = Garage("small", small_installation(), *rule_base(), 5, story())
    assert [again.case(k) for k in (3, 1)] == [garage().case(k) for k in (3, 1)]
    assert len({garage().case(k) for k in range(6)}) == 6


def test_every_fault_shows_and_has_a_size_within_its_rule() -> None:
    rules, _ = rule_base()
    for number in range(COUNT):
        case = garage().case(number)
        (fault,) = case.faults
        vehicle, twin = garage().vehicle(case), garage().vehicle(case, leave_out=0)
        assert tells(vehicle, twin, garage().takes, garage().bands) is not None
        size = rules.faults[fault.fault].size
        if size is not None and not size.unit.startswith("share"):
            assert fault.size is not None
            assert size.low <= fault.size <= size.high


def test_a_vehicle_does_not_differ_from_itself_and_a_fault_too_small_to_see_does_not_count() -> None:
    case = garage().case(0)
    twin = garage().vehicle(case, leave_out=0)
    assert tells(twin, twin, garage().takes, garage().bands) is None
    rules, tables = rule_base()
    tiny = FaultAt("high_resistance", "input_fuse", "charger_in", size=1e-7)
    hidden = Hypothesis(tiny, rules.faults["high_resistance"], 1.0)
    installation = small_installation()
    found = [SimulatedVehicle(installation, rules, tables, h, 3) for h in (hidden, SOUND)]
    seen = [t for t in garage().takes if t.quantity in ("volts", "amps", "works", "lamp", "ohms")]
    assert tells(*found, seen, garage().bands) is None
    plain = Hypothesis(tiny._replace(size=0.2), rules.faults["high_resistance"], 1.0)
    assert tells(SimulatedVehicle(installation, rules, tables, plain, 3), found[1], seen, garage().bands) is not None


def test_the_share_of_sound_vehicles_is_as_said() -> None:
    told = garage(told=story(sound=0.4))
    sound = sum(not told.case(k).faults for k in range(40))
    assert 7 <= sound <= 25, "three standard deviations of a binomial count"


def test_two_faults_sit_at_different_places() -> None:
    told = garage(told=story(faults=2))
    for number in range(3):
        one, other = told.case(number).faults
        assert (one.part, one.at) != (other.part, other.at)


def test_a_complaint_is_one_that_the_fault_favours_or_none_or_no_help() -> None:
    rules, _ = rule_base()
    said = []
    for number in range(COUNT):
        case = garage().case(number)
        said.append(case.complaint)
        if case.complaint in rules.complaints:
            (fault,) = case.faults
            hidden = Hypothesis(fault, rules.faults[fault.fault], 1.0)
            rule, sound = rules.complaints[case.complaint], case._replace(faults=())
            beside = Beside([garage().vehicle(sound), garage().vehicle(case)])
            shows = symptom_ratios(rule, garage().installation, beside)
            ratio = complaint_ratio(rule, hidden, garage().installation)
            assert ratio * (1.0 if shows is None else float(shows[1, 0])) > 1.0
            assert case.complaint != "solar_does_nothing", "there is no panel"
    assert None in said
    assert sum(c not in (None, NO_HELP) for c in said) > COUNT // 2


def test_a_layout_on_which_no_fault_shows_is_told() -> None:
    blind = Garage("small", small_installation(), *rule_base(), 5, story()._replace(tools=()))
    with pytest.raises(RuntimeError, match="no fault that shows"):
        blind.case(0)

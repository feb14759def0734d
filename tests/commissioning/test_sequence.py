"""The steps made for each layout: only those that apply, in order, each a test that the readings form takes."""

from __future__ import annotations

import pytest

from diagnose.commissioning.sequence import charging_path
from diagnose.model.commissioning_rules import EACH, JUDGES
from diagnose.store.commissioning_rules import load_step_rules
from diagnose.store.installations import layout_ids, load_layout
from diagnose.store.readings import readings_from_document
from diagnose.store.yaml_text import yaml_document
from tests.commissioning.vehicles import base, steps

LAYOUTS = sorted(layout_ids())


@pytest.mark.parametrize("layout", LAYOUTS)
def test_steps_are_unique_ordered_and_within_the_readings_form(layout: str) -> None:
    installation, planned, _ = steps(layout)
    ids = [p.step.id for p in planned]
    assert len(ids) == len(set(ids)) >= 60
    assert [p.rule.order for p in planned] == sorted(p.rule.order for p in planned)
    entries = [
        {t.quantity: list(t.where) if len(t.where) == 2 else t.where[0], "when": t.when}
        for t in (p.step.take for p in planned) if t is not None
    ]  # fmt: skip
    document = yaml_document(str({"readings": entries}).replace("'", '"'), "steps")
    assert len(readings_from_document(document, installation, needs_read=False).readings) == len(entries)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_phases_come_once_and_the_dead_ones_first(layout: str) -> None:
    phases = [p.step.phase for p in steps(layout)[1]]
    runs = [phase for before, phase in zip([None, *phases], phases, strict=False) if before != phase]
    assert len(runs) == len(set(runs))
    assert runs[:2] == ["looked at", "dead"]
    assert runs[-1] == "shut down"


def test_every_rule_and_every_kind_of_subject_is_used_somewhere() -> None:
    rules = load_step_rules(base()[1])
    used = {p.rule.id for layout in LAYOUTS for p in steps(layout)[1]}
    assert {rule.id for rule in rules} == used
    assert {rule.each for rule in rules} == set(EACH)
    assert {rule.judge for rule in rules} == set(JUDGES)


def test_a_step_that_does_not_apply_is_left_out() -> None:
    rules = {p.rule.id for p in steps("crew_cab_tray")[1]}
    assert not rules & {"panel_volts", "no_backfeed", "mains_volts", "plug_reachable", "alternator_volts_variable"}
    assert {"charger_starts", "input_current", "run_signal_on"} <= rules
    solar = {p.rule.id for p in steps("solar_only_van")[1]}
    assert not solar & {"charger_starts", "input_current", "ripple", "restart"}
    assert "panel_volts" in solar


def test_cautions_go_with_ohms_and_with_a_running_engine() -> None:
    for planned in steps("crew_cab_tray")[1]:
        take = planned.step.take
        if take is not None and take.quantity == "ohms":
            assert {"ohms_dead_only", "isolate_first"} <= set(planned.step.cautions)
        if take is not None and take.when == "engine_running":
            assert "open_air" in planned.step.cautions


def test_the_charging_path_is_drawn_in_the_direction_of_the_current() -> None:
    flows = {f.part: (f.first, f.last) for f in charging_path(load_layout("crew_cab_tray"), base()[1])}
    assert flows["input_fuse"] == ("start_pos", "input_fuse_load")
    assert flows["house_fuse"] == ("house_fuse_load", "house_pos")  # described the other way round
    assert flows["tray_strap"] == ("tray", "chassis")
    assert "fridge_cable" not in flows

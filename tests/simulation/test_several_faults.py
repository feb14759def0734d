"""Two faults in one vehicle, mending one of them, what the tables do not tell, and what people misread."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Take
from diagnose.model.words import words_for
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.simulation.mismatch import AS_TOLD, OUTSIDE, Mismatch
from diagnose.simulation.mistakes import elsewhere, misplaced_point, wrong_word
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base

LAYOUT = "crew_cab_tray"
STRAP = FaultAt("high_resistance", "tray_strap", size=0.02)
FUSE = FaultAt("high_resistance", "input_fuse", "start_pos", size=0.02)
LEAD = FaultAt("open_circuit", "fridge_return", "house_neg")
ACROSS_STRAP = Take("volts", ("tray", "chassis"), "engine_running")
ACROSS_FUSE = Take("volts", ("start_pos", "input_fuse_load"), "engine_running")
FRIDGE = Take("works", ("fridge",), "loaded")


def vehicle(*faults: FaultAt, seed: int = 2, layout: str = LAYOUT, wrong: float = 0.0,
            mismatch: Mismatch = AS_TOLD) -> SimulatedVehicle:  # fmt: skip
    rules, tables = rule_base()
    hidden = [Hypothesis(f, rules.faults[f.fault], 1.0) for f in faults] or [SOUND]
    return SimulatedVehicle(
        load_layout(layout), rules, tables, hidden[0], seed, also=hidden[1:], wrong=wrong, mismatch=mismatch
    )


def test_both_faults_show_in_one_vehicle() -> None:
    sound, both = vehicle(), vehicle(STRAP, FUSE, LEAD)
    for take in (ACROSS_STRAP, ACROSS_FUSE):
        assert both.shown(take).high - sound.shown(take).high > 0.3
    assert (sound.answer(FRIDGE).word, both.answer(FRIDGE).word) == ("yes", "no")


def test_the_order_of_faults_does_not_matter() -> None:
    for take in (ACROSS_STRAP, ACROSS_FUSE):
        one, other = vehicle(STRAP, FUSE).shown(take), vehicle(FUSE, STRAP).shown(take)
        assert one.high == pytest.approx(other.high, abs=1e-9)


def test_mending_takes_away_what_sits_there_and_nothing_else() -> None:
    both = vehicle(STRAP, FUSE)
    left = both.mended(STRAP._replace(fault="open_circuit"))
    assert [h.fault for h in left.faults] == [FUSE]
    for take in (ACROSS_STRAP, ACROSS_FUSE):
        assert left.answer(take) == vehicle(FUSE).answer(take)
    assert left.mended(FUSE).answer(ACROSS_FUSE) == vehicle().answer(ACROSS_FUSE)
    assert both.mended(LEAD).answer(ACROSS_STRAP) == both.answer(ACROSS_STRAP)


def test_the_profile_that_two_lead_faults_pick_is_worked_out_once() -> None:
    """On this vehicle the profile lead tied to nothing means the other profile; a second open lead adds no shift."""
    lead, layout = FaultAt("open_circuit", "profile_cable"), "canopy"
    other = "lights_cable"
    out = Take("volts", ("charger_out", "charger_neg"), "engine_running")
    alone = vehicle(lead, layout=layout).shown(out).high
    assert abs(alone - vehicle(layout=layout).shown(out).high) > 0.05
    two = vehicle(lead, FaultAt("open_circuit", other), layout=layout).shown(out).high
    assert two == pytest.approx(alone, abs=0.02)


@pytest.mark.slow
def test_what_the_tables_do_not_tell_shifts_readings_within_stated_amounts() -> None:
    rest = Take("volts", ("house_pos", "house_neg"), "at_rest")
    shift = Mismatch(rest=0.2)
    moved = [vehicle(seed=s, mismatch=shift).shown(rest).high - vehicle(seed=s).shown(rest).high for s in range(30)]
    assert max(map(abs, moved)) <= 0.2 + 1e-6
    assert np.std(moved) > 0.06
    assert vehicle(mismatch=OUTSIDE).answer(rest) == vehicle(mismatch=OUTSIDE).answer(rest)
    gain = [vehicle(seed=s, mismatch=Mismatch(volts_gain=0.01)).shown(rest).high / vehicle(seed=s).shown(rest).high
            for s in range(10)]  # fmt: skip
    assert 0.002 < max(abs(g - 1.0) for g in gain) <= 0.01 + 1e-9


def test_mistakes_come_as_often_as_said_and_are_the_same_each_time() -> None:
    told = vehicle(wrong=0.3)
    takes = [Take("volts", ("start_pos", p), "engine_running") for p in sorted(load_layout(LAYOUT).points)]
    takes += [Take("look", (p,), "at_rest") for p in load_layout(LAYOUT).parts]
    wrong = [told.answer(t) != told.truly(t) for t in takes if t.where != ("start_pos", "start_pos")]
    share, spread = np.mean(wrong), 3.0 * np.sqrt(0.3 * 0.7 / len(wrong))
    assert 0.3 - spread - 0.05 <= share <= 0.3 + spread
    assert [told.answer(t) for t in takes[:9]] == [vehicle(wrong=0.3).answer(t) for t in takes[:9]]
    assert all(vehicle().answer(t) == vehicle().truly(t) for t in takes[:9])


def test_a_mistake_is_another_place_another_decimal_or_another_word() -> None:
    chance = np.random.default_rng(4)
    installation = load_layout(LAYOUT)
    for _ in range(20):
        other = elsewhere(ACROSS_STRAP, installation, chance)
        assert sum(a != b for a, b in zip(other.where, ACROSS_STRAP.where, strict=True)) == 1
        assert other.where[0] != other.where[1]
        assert misplaced_point(Read("number", "12.6", 12.6), chance).value in (126.0, 1.26)
        assert wrong_word(Read("word", "on", word="on"), ("on", "off", "cycling"), chance).word in ("off", "cycling")
    amps = elsewhere(Take("amps", ("input_cable",), "at_rest"), installation, chance)
    assert installation.parts[amps.where[0]].kind == "cable"
    assert amps.where != ("input_cable",)


def test_what_is_seen_can_be_seen_at_such_a_part() -> None:
    """A cable neither swells nor is it turned round."""
    words = vehicle().words(Take("look", ("input_cable",), "at_rest"))
    assert words is not None
    assert not {"swollen", "acid", "reversed"} & set(words)
    assert "corroded" in words
    assert set(words) <= set(words_for("look", "multimeter"))
    battery = vehicle().words(Take("look", ("house_battery",), "at_rest"))
    assert battery is not None
    assert "blown" not in battery


def test_what_was_mended_is_new_and_its_neighbours_are_as_they_were() -> None:
    looks = [Take("look", (place,), "at_rest") for place in ("tray_strap", "tray_strap@tray", "input_fuse", "charger")]
    for seed in range(20):
        rules, tables = rule_base()
        strap = Hypothesis(STRAP, rules.faults[STRAP.fault], 1.0)
        before = SimulatedVehicle(load_layout(LAYOUT), rules, tables, strap, seed, wrong=0.5)
        after = before.mended(STRAP)
        assert after.truly(looks[0]).word == "good"
        assert [after.answer(look) for look in looks[1:]] == [before.answer(look) for look in looks[1:]]
        after.answer(looks[0])

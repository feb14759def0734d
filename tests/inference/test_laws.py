"""Laws that hold whatever is read: probabilities sum to 1, order and repeats and names do not matter."""

from __future__ import annotations

import json
from itertools import permutations

import pytest

from diagnose.inference.ranking import Engine, Question
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Reading, Take
from diagnose.present.json_forms import ranking_json
from tests.inference.engines import TOOLS, answers, chances, engine, rank, rule_base, volts

LAYOUT = "crew_cab_tray"
READINGS = answers(
    LAYOUT,
    FaultAt("high_resistance", "tray_strap", size=0.03),
    Take("volts", ("charger_in", "charger_neg"), "engine_running"),
    Take("volts", ("start_pos", "start_neg"), "engine_running"),
    Take("volts", ("tray", "chassis"), "engine_running"),
    Take("look", ("input_fuse",), "at_rest"),
)


def test_probabilities_sum_to_one_also_in_the_json() -> None:
    for count in range(len(READINGS) + 1):
        ranking = rank(LAYOUT, *READINGS[:count])
        assert sum(chances(ranking).values()) == pytest.approx(1.0, abs=1e-9)
        form = json.loads(ranking_json(ranking))
        total = sum(f["probability"] for f in form["faults"]) + form["no_fault"] + form["unlisted"]
        assert total == pytest.approx(1.0, abs=1e-6)


def test_order_of_readings_does_not_matter() -> None:
    first = chances(rank(LAYOUT, *READINGS))
    for order in list(permutations(READINGS))[1::7]:
        again = chances(rank(LAYOUT, *order))
        assert max(abs(first[k] - again[k]) for k in first) < 1e-9


def test_a_skipped_reading_says_nothing() -> None:
    skipped = Reading(Take("volts", ("house_pos", "house_neg"), "engine_running"), Read("skipped", "skipped"))
    first, again = chances(rank(LAYOUT, *READINGS)), chances(rank(LAYOUT, READINGS[0], skipped, *READINGS[1:]))
    assert max(abs(first[k] - again[k]) for k in first) < 1e-12


def test_repeating_a_reading_adds_little() -> None:
    once, thrice = rank(LAYOUT, *READINGS[:3]), rank(LAYOUT, *READINGS[:3], READINGS[2], READINGS[2])
    assert abs(once.faults[0].probability - thrice.faults[0].probability) < 0.1
    assert once.faults[0].fault == thrice.faults[0].fault


def test_an_unlisted_cause_grows_when_nothing_fits() -> None:
    fitting = rank(LAYOUT, *READINGS[:3])
    odd = rank(
        LAYOUT,
        volts("start_pos", "start_neg", 14.1),
        volts("charger_in", "charger_neg", 2.0),
        volts("start_pos", "charger_in", 0.03),
        volts("chassis", "start_neg", 5.0),
        volts("charger_neg", "chassis", -3.1),
    )
    assert fitting.unlisted < 0.05 < odd.unlisted


def test_voltages_alone_leave_the_size_in_ohms_wide() -> None:
    """Every resistance could be larger by one factor: without a current the size is known to a factor only."""
    size = rank(LAYOUT, *READINGS[:3]).faults[0].size
    assert size is not None
    assert size.high / size.low > 1.5


def test_names_do_not_matter() -> None:
    """The same wiring under other names of points gives the same belief, but for the draws that names seed."""
    text = engine(LAYOUT).installation.model_dump_json().replace('"tray"', '"deck"')
    renamed = Engine(Installation.model_validate_json(text), *rule_base(), 1)
    readings = tuple(
        r if r.take is None or "tray" not in r.take.where
        else r._replace(take=r.take._replace(where=tuple("deck" if w == "tray" else w for w in r.take.where)))
        for r in READINGS
    )  # fmt: skip
    first, again = rank(LAYOUT, *READINGS), renamed.rank(Question(readings, None, TOOLS))
    assert again.faults[0].fault.part == first.faults[0].fault.part
    assert again.faults[0].probability == pytest.approx(first.faults[0].probability, abs=0.1)


def test_the_same_question_gives_the_same_bytes() -> None:
    fresh = Engine(engine(LAYOUT).installation, *rule_base(), 1)
    assert ranking_json(fresh.rank(Question(READINGS, None, TOOLS))) == ranking_json(rank(LAYOUT, *READINGS))

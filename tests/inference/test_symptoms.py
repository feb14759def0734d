"""What a complaint says that its owner saw, by hand on invented readings and beside simulated vehicles; what it does to
belief in one fault and in two.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from diagnose.evaluation.beside import Beside
from diagnose.inference.complaints import match_complaint
from diagnose.inference.ranking import Question
from diagnose.inference.symptoms import shown, symptom_ratios
from diagnose.inference.two_faults import MOST_UNEXPLAINED, SECOND_BEFORE
from diagnose.model.reading import Take
from diagnose.model.rules import ComplaintRule, Symptom
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.predictor import Predicted
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import load_layout
from tests.inference.engines import TOOLS, engine, rule_base

LAYOUT = "crew_cab_tray"
JUDGED = {"source": "no published figure: judgement", "confidence": "judgement"}


def symptom(of: str, lost: tuple[float, float], *when: str) -> Symptom:
    told = {"of": of, "when": when, "lost": lost, "ratio": 3.0, "otherwise": 0.25}
    return Symptom.model_validate(told | JUDGED)


def complaint(*shows: Symptom) -> ComplaintRule:
    return ComplaintRule(id="invented", says="It hums.", words=("it hums",), shows=shows)


class Told:
    """Reads what it was told, the same in every test."""

    def __init__(self, high: list[list[float]], hunts: list[list[float]] | None = None, lit: bool = False) -> None:
        self._high, self._lit = np.array(high), lit
        self._hunts = np.zeros_like(self._high) if hunts is None else np.array(hunts)
        self.asked: list[Take] = []

    def predict(self, takes: Sequence[Take]) -> list[Predicted]:
        self.asked += takes
        none = np.zeros_like(self._high)
        words = {"on": self._high, "off": 1.0 - self._high} if self._lit else None
        return [Predicted(self._high, none, self._hunts, none, none, words) for _ in takes]


@pytest.mark.parametrize(
    ("of", "told", "seen", "could"),
    [
        # 20 A become 17 A, 10 A, less than nothing; on the second vehicle there is nothing to lose
        ("charge", Told([[20.0, 0.5], [17.0, 0.0], [10.0, 0.0], [-4.0, -9.0]]), [0, 0, 1, 1], [1, 0]),
        # it hunts between 20 A and none: half of it is missed
        ("charge", Told([[20.0, 20.0], [20.0, 20.0]], [[0.0, 0.0], [1.0, 0.0]]), [0, 1], [1, 1]),
        ("light", Told([[0.97, 0.01], [0.96, 0.97], [0.01, 0.01]], lit=True), [0, 0, 1], [1, 0]),
        ("volts", Told([[12.4, 12.4], [11.9, 12.4], [4.0, 12.4]]), [0, 0, 1], [1, 1]),
        ("calm", Told([[1.0, 1.0], [1.0, 1.0]], [[0.0, 1.0], [1.0, 1.0]]), [0, 1], [1, 0]),
    ],
)  # fmt: skip
def test_what_shows_is_what_is_lost_beside_the_same_vehicle_with_nothing_wrong(
    of: str, told: Told, seen: list[int], could: list[int]
) -> None:
    one = symptom(of, (0.3, 1.0), "engine_running")
    found, known = shown(one, load_layout(LAYOUT), told)
    assert found[:, 0].tolist() == [bool(s) for s in seen]
    assert known.tolist() == [bool(k) for k in could]
    assert not found[:, ~known].any()
    ratios = symptom_ratios(complaint(one), load_layout(LAYOUT), told)
    assert ratios is not None
    assert ratios[:, 0].tolist() == [1.0, *(3.0 if s else 0.25 for s in seen[1:])]
    assert (ratios[:, ~known] == 1.0).all(), "where nothing could be lost, nothing is told"


def test_one_state_of_several_is_enough_and_two_symptoms_count_both() -> None:
    told = Told([[20.0], [10.0]])
    twice = complaint(*[symptom("charge", (0.3, 1.0), "engine_running", "sun_only")] * 2)
    assert symptom_ratios(twice, load_layout(LAYOUT), told) == pytest.approx(np.array([[1.0], [9.0]]))
    assert {take.when for take in told.asked} == {"engine_running"}, "it has no panel"
    for none in (None, complaint(), complaint(symptom("charge", (0.3, 1.0), "sun_only", "isolated"))):
        assert symptom_ratios(none, load_layout(LAYOUT), told) is None


@pytest.mark.parametrize(
    ("label", "misses"),
    [
        ("blown input_fuse", True), ("open_circuit tray_strap", True), ("no_output charger", True),
        ("blown lights_fuse", False), ("high_resistance starter_cable starter_pos", False),
        ("high_internal_resistance start_battery", False),
    ],
)  # fmt: skip
def test_it_shows_on_simulated_vehicles_as_the_engine_works_it_out(label: str, misses: bool) -> None:
    """Each vehicle answers by itself: the current into its house battery falls by a fifth of its twin's or not."""
    rules, tables = rule_base()
    rule = match_complaint("no_charge_driving", rules)
    told = engine(LAYOUT)
    number = next(n for n, h in enumerate(told.hypotheses) if h.label == label)
    amps = Take("amps", ("house_battery",), "engine_running")
    heard = []
    for seed in range(1, 7):
        twin, own = (SimulatedVehicle(told.installation, rules, tables, h, seed)
                     for h in (SOUND, told.hypotheses[number]))  # fmt: skip
        ratios = symptom_ratios(rule, told.installation, Beside([twin, own]))
        sound, read = (vehicle.truly(amps).value or 0.0 for vehicle in (twin, own))
        if ratios is not None and sound > 1.5:
            heard.append(ratios[1, 0] > 1.0)
            assert heard[-1] == (read < 0.8 * sound) == misses
    assert heard, "no vehicle of six charges"
    predicted = symptom_ratios(rule, told.installation, told._table)
    assert predicted is not None
    assert (predicted[number].mean() > 1.0) == misses


def test_what_cannot_bring_the_complaint_about_is_believed_less() -> None:
    told = engine(LAYOUT)
    before, heard = (told.believe(Question((), said, TOOLS)).posterior for said in (None, "no_charge_driving"))
    at = {h.label: n for n, h in enumerate(told.hypotheses)}
    moved = {name: heard[at[name]] / before[at[name]] for name in ("blown input_fuse", "blown lights_fuse")}
    assert moved["blown input_fuse"] > 1.0 > moved["blown lights_fuse"]
    assert heard[0] == pytest.approx(before[0]), "what brings the owner of a sound one is not worked out here"
    assert heard.sum() == pytest.approx(before.sum())


def test_a_second_fault_need_not_explain_what_the_first_does() -> None:
    told = engine(LAYOUT)
    two, at = told._two, {h.label: n for n, h in enumerate(told.hypotheses)}
    prior = told.believe(Question((), "no_charge_driving", TOOLS)).prior
    weight = np.array([h.weight for h in told.hypotheses])
    explains, idle = at["blown input_fuse"], at["blown lights_fuse"]
    other, beside = at["blown house_fuse"], at["blown fridge_fuse"]
    assert weight[other] == weight[beside]
    first = two.prior(prior, [explains], SECOND_BEFORE)
    assert first[other] == pytest.approx(first[beside]), "the complaint is explained: others are as common as they are"
    assert first[1:].sum() / first[0] == pytest.approx(SECOND_BEFORE / (1.0 - SECOND_BEFORE))
    strange = two.prior(prior, [idle], SECOND_BEFORE)
    assert strange[other] > 3.0 * strange[beside], "what would explain it is likelier"
    odds = SECOND_BEFORE / (1.0 - SECOND_BEFORE)
    assert odds < strange[1:].sum() / strange[0] <= MOST_UNEXPLAINED * odds


def test_who_insists_is_believed() -> None:
    told = engine(LAYOUT)
    calm, insisted = (told.believe(Question((), None, TOOLS, insisted=i)).posterior for i in (False, True))
    assert insisted[0] < 0.2 * calm[0]
    assert insisted[1:] / calm[1:] == pytest.approx(np.full(len(calm) - 1, insisted[1] / calm[1]))

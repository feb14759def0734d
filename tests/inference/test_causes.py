"""Causes of a fault at its place: shares and words by Bayes, by hand; what a lead is for; what says nothing."""

from __future__ import annotations

from fractions import Fraction

import pytest

from diagnose.inference.causes import LEADING, leads_of, likely_causes
from diagnose.inference.complaints import match_complaint
from diagnose.model.causes import Brought, CauseComplaint, CauseRule, CauseWord, LikelyCause
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Reading, Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import all_hypotheses
from diagnose.prediction.sights import Sights
from diagnose.store.installations import layout_ids, load_layout
from tests.inference.engines import rank, rule_base, volts, word

RULES = rule_base()[0]
LUG = FaultAt("high_resistance", "input_cable", "charger_in")
CITED = {"source": "no published figure: judgement", "confidence": "judgement"}


def cause(name: str, share: float, words: dict[tuple[str, str], float], complaint: str | None = None) -> CauseRule:
    model = RULES.causes["corroded_joint"]
    brought = Brought(fault="high_resistance", kinds=("cable",), where="termination", share=share, **CITED)
    found = tuple(CauseWord(quantity=q, word=w, chance=c, **CITED) for (q, w), c in words.items())  # type: ignore[arg-type]
    told = () if complaint is None else (CauseComplaint(complaint=complaint, ratio=3.0, **CITED),)
    changed = {"id": name, "brings": (brought,), "words": found, "complaints": told}
    return model.model_copy(update=changed)


def base(*causes: CauseRule) -> RuleBase:
    return RULES.model_copy(update={"causes": {c.id: c for c in causes}})


def causes_of(
    fault: FaultAt,
    *readings: Reading,
    layout: str = "engine_bay_pair",
    rules: RuleBase = RULES,
    said: str | None = None,
) -> tuple[LikelyCause, ...]:
    complaint = match_complaint(said, rules)
    return likely_causes(fault, load_layout(layout), rules, Sights(rules), readings, complaint)


def chances(found: tuple[LikelyCause, ...]) -> dict[str, float]:
    return {c.cause: c.probability for c in found}


def test_without_words_the_chances_are_the_shares() -> None:
    rules = base(cause("one", 0.5, {}), cause("two", 0.3, {}))
    assert chances(causes_of(LUG, rules=rules)) == pytest.approx({"one": 0.5, "two": 0.3})


def test_one_word_by_hand() -> None:
    # tug has one word besides `good`: named by `one` at 0.8, by `two` not at all, so the fault speaks for it (0.3).
    rules = base(cause("one", 0.5, {("tug", "loose"): 0.8}), cause("two", 0.3, {}))
    found = chances(causes_of(LUG, word("tug", "input_cable@charger_in", "loose"), rules=rules))
    fault = Fraction(3, 10)
    total = Fraction(1, 2) * Fraction(4, 5) + Fraction(3, 10) * fault + Fraction(1, 5) * fault
    assert found["one"] == pytest.approx(float(Fraction(1, 2) * Fraction(4, 5) / total))
    assert found["two"] == pytest.approx(float(Fraction(3, 10) * fault / total))
    held = chances(causes_of(LUG, word("tug", "input_cable@charger_in", "good"), rules=rules))
    total = Fraction(1, 2) * Fraction(1, 5) + Fraction(1, 2) * (1 - fault)
    assert held["one"] == pytest.approx(float(Fraction(1, 10) / total))


def test_a_complaint_by_hand() -> None:
    rules = base(cause("one", 0.2, {}, "works_in_workshop"), cause("two", 0.6, {}))
    found = chances(causes_of(LUG, rules=rules, said="works_in_workshop"))
    assert found == pytest.approx({"one": 0.6 / 1.4, "two": 0.6 / 1.4})
    assert chances(causes_of(LUG, rules=rules, said="never_full")) == pytest.approx({"one": 0.2, "two": 0.6})


def test_words_of_other_parts_repeats_and_order_change_nothing() -> None:
    loose = word("look", "input_cable@charger_in", "loose")
    held = word("tug", "input_cable@charger_in", "good")
    other = word("look", "output_cable@charger_out", "corroded")
    skipped = Reading(Take("look", ("input_cable@charger_in",), "at_rest"), Read("skipped", "skipped"))
    found = causes_of(LUG, loose, held)
    assert causes_of(LUG, held, loose, loose, other, skipped, volts("start_pos", "charger_in", 0.3)) == found


def test_what_was_found_after_the_repair_says_nothing() -> None:
    before = word("look", "input_cable@charger_in", "corroded")
    repaired = Reading(None, None, LUG)
    after = word("tug", "input_cable@charger_in", "good")
    assert causes_of(LUG, before, repaired, after) == causes_of(LUG, before)
    assert causes_of(LUG, before, after) != causes_of(LUG, before)


@pytest.mark.parametrize(("layout", "fault", "leads"), [
    ("engine_bay_pair", LUG, set()),
    ("engine_bay_pair", FaultAt("open_circuit", "house_earth", "chassis"), {"earth"}),
    ("engine_bay_pair", FaultAt("open_circuit", "house_earth", "house_neg"), set()),
    ("engine_bay_pair", FaultAt("open_circuit", "fridge_cable", "fridge_fuse_load"), {"load_feed"}),
    ("engine_bay_pair", FaultAt("open_circuit", "fridge_earth", "body_rear"), {"earth"}),
    ("crew_cab_tray", FaultAt("open_circuit", "ignition_lead", "charger_ign"), {"ignition"}),
    ("crew_cab_tray", FaultAt("open_circuit", "charger_earth", "tray"), {"negative", "earth"}),
    ("canopy", FaultAt("wrong_connection", "profile_cable", "charger_neg", "charger_out"), {"profile"}),
    ("camper_trailer", FaultAt("short_to_negative", "profile_cable"), {"profile", "free_end"}),
])  # fmt: skip
def test_what_a_lead_is_for(layout: str, fault: FaultAt, leads: set[str]) -> None:
    assert leads_of(fault, load_layout(layout)) == leads


def test_a_place_narrows_the_causes() -> None:
    plain, earth = causes_of(LUG), causes_of(FaultAt("high_resistance", "house_earth", "chassis"))
    assert "paint_under_lug" not in chances(plain)
    assert "paint_under_lug" in chances(earth)
    lead, body = (FaultAt("wrong_connection", "ignition_lead", "ignition_out", to) for to in ("start_pos", "seat_stud"))
    assert next(iter(chances(causes_of(lead, layout="van_lfp_seat")))) == "ignition_always_live"
    assert next(iter(chances(causes_of(body, layout="van_lfp_seat")))) == "ignition_dies_cranking"
    lead_acid = FaultAt("protection_open", "house_battery")
    assert chances(causes_of(lead_acid)) == {}


@pytest.mark.parametrize(
    "layout", [pytest.param(name, marks=pytest.mark.slow) if n % 4 else name for n, name in enumerate(layout_ids())]
)
def test_chances_are_sorted_and_come_to_no_more_than_one(layout: str) -> None:
    installation, sights = load_layout(layout), Sights(RULES)
    named = 0
    for hypothesis in all_hypotheses(installation, RULES)[1:]:
        assert hypothesis.fault is not None
        place = hypothesis.fault.part + (f"@{hypothesis.fault.at}" if hypothesis.fault.at else "")
        found = likely_causes(hypothesis.fault, installation, RULES, sights, (word("look", place, "corroded"),))
        probabilities = [c.probability for c in found]
        assert probabilities == sorted(probabilities, reverse=True)
        assert sum(probabilities) < 1.0
        named += bool(found)
    assert named > 50


def test_a_leading_cause_lends_its_remedy_once_the_fault_is_proved() -> None:
    lost = [
        volts("house_earth@chassis", "chassis", drop, when)
        for drop, when in ((0.5, "engine_running"), (0.4, "engine_running_loaded"))
    ]
    green = word("look", "house_earth@chassis", "corroded")
    entry = rank("engine_bay_pair", *lost, green).faults[0]
    assert (entry.fault.part, entry.fault.at, entry.convicted) == ("house_earth", "chassis", True)
    assert entry.causes[0].cause == "corroded_joint"
    assert entry.causes[0].probability >= LEADING
    assert entry.remedy == RULES.causes["corroded_joint"].remedy
    plain = rank("engine_bay_pair", *lost).faults[0]
    assert plain.causes[0].probability < LEADING
    assert RULES.causes[plain.causes[0].cause].remedy not in plain.remedy


def test_only_the_first_five_entries_have_causes() -> None:
    faults = rank("engine_bay_pair", complaint="charges_slowly").faults
    assert any(entry.causes for entry in faults[:5])
    assert not any(entry.causes for entry in faults[5:])

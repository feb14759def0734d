"""From people's own words to a complaint, with their typing errors; and which faults a complaint makes likelier."""

from __future__ import annotations

import pytest

from diagnose.inference.complaints import _overlap, complaint_ratio, match_complaint
from diagnose.inference.prior import SOUND_BEFORE, UNLISTED_BEFORE, prior_of
from diagnose.model.rules import ComplaintRule, Favour
from diagnose.prediction.hypotheses import SOUND, all_hypotheses
from diagnose.store.installations import layout_ids, load_layout
from tests.inference.engines import rule_base

RULES = rule_base()[0]


def matched(text: str | None) -> str | None:
    rule = match_complaint(text, RULES)
    return None if rule is None else rule.id


def mistyped(phrase: str) -> list[str]:
    """Return a phrase with one typing error each: two letters of its longest word exchanged, one doubled, one lost."""
    longest = max(phrase.split(), key=len)
    if len(longest) < 5:
        return []
    k = len(longest) // 2
    swapped = longest[: k - 1] + longest[k] + longest[k - 1] + longest[k + 1 :]
    doubled, lost = longest[:k] + longest[k - 1 :], longest[:k] + longest[k + 1 :]
    return [phrase.replace(longest, each) for each in (swapped, doubled, lost)]


@pytest.mark.parametrize("rule", RULES.complaints.values(), ids=RULES.complaints)
def test_a_complaint_is_known_by_its_id_and_by_all_its_own_words(rule: ComplaintRule) -> None:
    assert matched(rule.id) == rule.id
    for phrase in (rule.says, *rule.words):
        assert matched(phrase) == rule.id, phrase
        assert matched(phrase.upper()) == rule.id, phrase
        assert matched(f"  {phrase}, please help!  ") == rule.id, phrase


@pytest.mark.parametrize("rule", RULES.complaints.values(), ids=RULES.complaints)
def test_a_complaint_is_known_through_a_typing_error(rule: ComplaintRule) -> None:
    texts = [text for phrase in (rule.says, *rule.words) for text in mistyped(phrase)]
    missed = [text for text in texts if matched(text) != rule.id]
    assert len(texts) > 5
    assert len(missed) <= 0.1 * len(texts), missed


@pytest.mark.parametrize("text", [None, "", "   ", "hello", "the quick brown fox", "12.4", "?", "is it on or off"])
def test_what_is_no_complaint_is_taken_for_none(text: str | None) -> None:
    assert matched(text) is None


@pytest.mark.parametrize("text", ["charges fine now", "it does charge while driving", "the solar works well"])
def test_the_opposite_of_a_complaint_is_taken_for_none(text: str) -> None:
    assert matched(text) is None


@pytest.mark.parametrize("text", ["battery on fire", "something is smoking", "wires on fire", "smoke from the battery"])
def test_fire_and_smoke_are_known_as_signs_of_danger(text: str) -> None:
    name = matched(text)
    assert name is not None
    assert RULES.complaints[name].danger


def test_the_example_complaint_of_the_readings_form_is_known() -> None:
    assert matched("charger does not start") == "no_charge_driving"
    assert matched("house battery never fills on the road") == "no_charge_driving"


def complaint(*favours: Favour) -> ComplaintRule:
    return ComplaintRule(id="invented", says="It hums.", words=("it hums",), favours=favours)


def favour(ratio: float, **of: tuple[str, ...]) -> Favour:
    return Favour(ratio=ratio, source="no published figure: judgement", confidence="judgement", **of)


def test_a_complaint_favours_faults_families_and_kinds_of_part() -> None:
    installation = load_layout("crew_cab_tray")
    hypotheses = {h.label: h for h in all_hypotheses(installation, RULES)}
    blown, strap = hypotheses["blown input_fuse"], hypotheses["high_resistance tray_strap"]
    by_fault = complaint(favour(3.0, faults=("blown",)), favour(2.0, families=("fuse",)))
    assert complaint_ratio(by_fault, blown, installation) == 6.0
    assert complaint_ratio(by_fault, strap, installation) == 1.0
    both = complaint(favour(5.0, faults=("high_resistance",), kinds=("bond",)))
    assert complaint_ratio(both, strap, installation) == 5.0
    assert complaint_ratio(both, hypotheses["high_resistance input_cable"], installation) == 1.0
    by_kind = complaint(favour(4.0, kinds=("charger",)))
    assert complaint_ratio(by_kind, hypotheses["no_output charger"], installation) == 4.0
    for rule in (None, complaint()):
        assert complaint_ratio(rule, blown, installation) == 1.0
    assert complaint_ratio(by_fault, SOUND, installation) == 1.0


@pytest.mark.parametrize("layout", layout_ids())
def test_every_complaint_moves_belief_and_leaves_chances_before_readings_whole(layout: str) -> None:
    installation = load_layout(layout)
    hypotheses = all_hypotheses(installation, RULES)
    plain = prior_of(hypotheses, [1.0] * len(hypotheses))
    for rule in RULES.complaints.values():
        prior = prior_of(hypotheses, [complaint_ratio(rule, h, installation) for h in hypotheses])
        assert prior.sum() + UNLISTED_BEFORE == pytest.approx(1.0, abs=1e-12)
        assert prior[0] == SOUND_BEFORE
        assert (prior[1:] > 0).all()
        if layout == "motorhome_variable":
            assert abs(prior - plain).sum() > 0.02, rule.id


def test_nothing_is_said_more_than_wholly() -> None:
    # one word said for two of a phrase that are spelt nearly alike
    assert _overlap(("charger",), ("charger", "charges")) == 1.0
    assert _overlap(("charger", "hot"), ("charger",)) == pytest.approx(1.0 - 0.02)

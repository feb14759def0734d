"""Scores of rankings made by hand, and published digits of a metric for lists of parts."""

from __future__ import annotations

import pytest

from diagnose.evaluation.scoring import group_utility, score, score_named, utility
from diagnose.model.fault import FaultAt
from tests.evaluation.small import TRAY, entry, ranking

FUSE, LUG, OTHER = FaultAt("blown", "input_fuse"), FaultAt("high_resistance", "cable", "a"), FaultAt("blown", "other")


def test_the_right_place_first_counts_whatever_the_fault_is_called() -> None:
    found = score(ranking(entry(TRAY._replace(fault="high_resistance"), 0.9), sound=0.1), [TRAY])
    assert (found.first, found.in_three, found.one, found.both) == (1.0, 1.0, 1.0, 1.0)
    assert found.chance == pytest.approx(0.9)


def test_the_right_part_at_the_wrong_end_is_wrong() -> None:
    found = score(ranking(entry(LUG._replace(at="b"), 0.9)), [LUG])
    assert (found.first, found.in_three, found.chance) == (0.0, 0.0, 0.0)


def test_entries_of_one_place_are_added_and_a_group_of_k_counts_one_in_k() -> None:
    listed = ranking(entry(LUG, 0.5), entry(LUG._replace(fault="open_circuit"), 0.2), entry(FUSE, 0.3))
    assert score(listed, [LUG]).chance == pytest.approx(0.7)
    assert score(listed, [LUG]).leading == pytest.approx(0.7)
    alike = ranking(entry(FUSE, 0.9, alike=(LUG, OTHER)), entry(TRAY, 0.1))
    found = score(alike, [LUG])
    assert found.first == pytest.approx(1 / 3)
    assert found.in_three == pytest.approx(1 / 3)
    assert found.chance == pytest.approx(0.3)


def test_a_place_is_not_first_where_nothing_wrong_or_unlisted_has_more_chance() -> None:
    assert score(ranking(entry(TRAY, 0.4), sound=0.6), [TRAY]).first == 0.0
    assert score(ranking(entry(TRAY, 0.4), sound=0.6), [TRAY]).in_three == 1.0
    beaten = score(ranking(entry(TRAY, 0.4), unlisted=0.6), [TRAY])
    assert (beaten.first, beaten.leader) == (0.0, "unlisted")


def test_a_sound_vehicle_must_be_called_sound() -> None:
    assert score(ranking(entry(TRAY, 0.4), sound=0.6), []).first == 1.0
    wrong = score(ranking(entry(TRAY, 0.8, convicted=True), sound=0.2), [])
    assert (wrong.first, wrong.chance, wrong.condemned) == (0.0, pytest.approx(0.2), True)


def test_a_part_is_condemned_in_vain_only_if_convicted_and_sound() -> None:
    assert score(ranking(entry(FUSE, 0.9, convicted=True)), [TRAY]).condemned
    assert not score(ranking(entry(FUSE, 0.9)), [TRAY]).condemned
    assert not score(ranking(entry(FUSE, 0.9, convicted=True)), [FUSE._replace(at="a")]).condemned


def test_two_faults_may_stand_in_one_entry_or_in_several() -> None:
    together = score(ranking(entry(FUSE, 0.9, beside=(TRAY,))), [TRAY, FUSE])
    assert (together.one, together.both) == (1.0, 1.0)
    apart = score(ranking(entry(FUSE, 0.5), entry(OTHER, 0.3), entry(TRAY, 0.2)), [TRAY, FUSE])
    assert (apart.one, apart.both) == (1.0, 1.0)
    fourth = score(ranking(entry(FUSE, 0.4), entry(OTHER, 0.3), entry(LUG, 0.2), entry(TRAY, 0.1)), [TRAY, FUSE])
    assert (fourth.one, fourth.both) == (1.0, 0.0)
    assert score(ranking(entry(OTHER, 0.9), entry(FUSE, 0.1)), [TRAY, FUSE]).one == 0.0


def test_who_gives_no_chances_is_right_or_wrong() -> None:
    assert score_named(TRAY, [TRAY]).first == 1.0
    assert score_named(None, []).first == 1.0
    assert score_named(None, [TRAY]).first == 0.0
    assert (score_named(FUSE, [TRAY]).chance, score_named(FUSE, [TRAY]).condemned) == (0.0, True)


@pytest.mark.parametrize(
    ("named", "true", "worth"),
    [
        ({"a"}, {"a"}, 1.0),
        (set(), {"a"}, 0.48484848484848486),
        ({"b"}, {"a"}, 0.4696969696969697),
        ({"a", "b"}, {"a"}, 0.9545454545454546),
        ({"a"}, {"a", "b"}, 0.5),
    ],
)
def test_the_worth_of_a_list_of_parts_has_the_published_digits(
    named: set[str], true: set[str], worth: float
) -> None:
    # Source: the metric of a published competition of diagnosis programs, its values recomputed by fractions.
    assert utility(named, true, 33) == pytest.approx(worth, abs=1e-12)


def test_a_group_reported_whole_is_worth_1_and_completeness_needs_a_figure_of_its_own() -> None:
    # Source: the metric of a published competition of diagnosis programs, its values recomputed by fractions.
    group = [{"a"}, {"b"}]
    raw = sum(utility(one, {"a"}, 33) for one in group) / 2
    assert raw == pytest.approx(0.7348484848484849, abs=1e-12)
    assert group_utility(group, group, 33) == pytest.approx(1.0, abs=1e-12)
    assert group_utility(group[:1], group, 33) == pytest.approx(1.0, abs=1e-12)
    assert group_utility([{"c"}], group, 33) < 0.7

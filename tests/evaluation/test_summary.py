"""Rates with their intervals, calibration, floors: from results made by hand."""

from __future__ import annotations

import json

import pytest

from diagnose.evaluation.population import Case
from diagnose.evaluation.run import Plan, Result
from diagnose.evaluation.scoring import score
from diagnose.evaluation.summary import calibration, rate, summarize
from diagnose.model.fault import FaultAt
from diagnose.present.evaluation_table import evaluation_json, evaluation_lines
from tests.evaluation.small import TRAY, entry, plan, ranking, story

FUSE = FaultAt("blown", "input_fuse")


def result(number: int, right: bool, chance: float = 0.97, player: str = "engine", minutes: float = 8.0,
           faults: tuple[FaultAt, ...] = (TRAY,), end: str = "found",
           mended: tuple[FaultAt, ...] = ()) -> Result:  # fmt: skip
    first, other = (TRAY, FUSE) if right else (FUSE, TRAY)
    listed = ranking(entry(first, chance, convicted=True), entry(other, 1.0 - chance))
    case = Case(number, "small", 1, faults, None)
    return Result(case, player, score(listed, faults), 5, minutes, end, 0.001, 0.0, ("look x: good",), mended)


def test_the_interval_of_a_rate_has_the_published_digits() -> None:
    # Source: R. G. Newcombe, Two-sided confidence intervals for the single proportion (1998), table I (from memory).
    for hits, out_of, low, high in ((81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)):
        found = rate([1.0] * hits + [0.0] * (out_of - hits))
        assert (found.low, found.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


def test_no_vehicles_have_no_rate() -> None:
    with pytest.raises(ValueError, match="no vehicles"):
        rate([])


def test_calibration_sets_what_was_said_beside_what_happened() -> None:
    # Two that say .97 and are wrong among ten are too sure of themselves.
    results = [result(k, k > 1) for k in range(10)] + [result(20 + k, True, 0.6) for k in range(4)]
    low, high = calibration(results)
    assert (low.said, low.right.value, low.agrees) == (pytest.approx(0.6), 1.0, True)
    assert (high.said, high.right.value, high.agrees) == (pytest.approx(0.97), 0.8, False)


def floors(told: Plan, results: list[Result]) -> dict[str, bool]:
    return {f.what: f.reached for f in summarize(told, results).floors}


def test_floors_are_reached_by_right_results_and_missed_by_wrong_ones() -> None:
    told = plan(60, ("engine", "textbook"))
    slow = [result(k, True, player="textbook", minutes=20.0) for k in range(60)]
    good = floors(told, [result(k, True, 0.995) for k in range(60)] + slow)
    assert len(good) == 5
    assert all(good.values())
    bad = floors(told, [result(k, k % 2 == 0, 0.995, minutes=19.0) for k in range(60)] + slow)
    assert not bad["right place first"]
    assert not bad["Brier score"]
    assert not bad["minutes beside the textbook's (medians)"]


def test_sound_vehicles_and_two_faults_have_floors_of_their_own() -> None:
    called = [result(k, True, faults=() if k % 2 else (TRAY,)) for k in range(40)]
    noisy = floors(plan(40, told=story(0.5, 0.03)), called)
    assert not noisy["sound called sound"]
    double = floors(plan(40, told=story(faults=2)), [result(k, True, faults=(TRAY, FUSE)) for k in range(40)])
    assert double == {"one of two faults first": True, "both among the first three": True}


def test_mended_vehicles_count_only_when_all_faults_are_mended_and_proved() -> None:
    told = plan(20, told=story(faults=2))._replace(repair=True)
    both = (TRAY, FUSE)
    done = [result(k, True, faults=both, end="repaired", mended=both) for k in range(20)]
    assert floors(told, done) == {"all faults found, mended and proved": True}
    half = [result(k, True, faults=both, end="repaired", mended=(TRAY,)) for k in range(20)]
    assert floors(told, half) == {"all faults found, mended and proved": False}
    unproved = [result(k, True, faults=both, end="found", mended=both) for k in range(20)]
    assert floors(told, unproved) == {"all faults found, mended and proved": False}


def test_the_table_fits_80_columns_and_tells_where_it_failed() -> None:
    summary = summarize(plan(12), [result(k, k != 3) for k in range(12)])
    lines = evaluation_lines(summary, ["played"], 80)
    assert max(len(line) for line in lines) <= 80
    text = "\n".join(lines)
    assert "- 3 small (seed 1): open_circuit tray_strap" in text
    assert "reached right place first 0.917" in text


def test_json_holds_the_same_figures() -> None:
    form = json.loads(evaluation_json(summarize(plan(12), [result(k, k != 3) for k in range(12)])))
    assert form["schema"] == "diagnose/evaluation/1"
    assert form["players"][0]["first"]["value"] == pytest.approx(11 / 12, abs=1e-6)
    assert [f["vehicle"] for f in form["failures"]] == [3]

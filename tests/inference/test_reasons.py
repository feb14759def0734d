"""Why: decibels of each reading against worked tables, and sentences that say number, place and sound band."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.inference.evidence import Evidence
from diagnose.inference.posterior import Belief, believe
from diagnose.inference.ranking import Question
from diagnose.inference.reasons import against_sound, amount, place_words, reading_says, sound_band, weights_of
from diagnose.model.ranking import Entry
from diagnose.model.reading import Read, Reading, Take
from tests.inference.engines import engine, rank, volts, word

#: three machines with chances of a bad piece 1/3, 1/6 and 99/100 (after Jaynes, recomputed in exact fractions)
BAD = np.array([1 / 3, 1 / 6, 99 / 100])
BEFORE = np.array([1 / 11 * (1 - 1e-6), 10 / 11 * (1 - 1e-6), 1e-6])
#: bad pieces in a row -> evidence for each machine [dB], 10 log10 of its odds
TABLE = {
    0: (-10.000005, 9.999952, -59.999996), 1: (-6.989728, 6.989558, -52.640017),
    5: (5.016315, -5.062526, -27.129239), 7: (9.976278, -11.168405, -16.819809),
    10: (2.238819, -22.109951, -2.352630), 11: (-2.429278, -27.498206, 2.395986),
    16: (-26.054965, -64.230521, 26.054300), 20: (-44.965221, -95.171359, 44.965180),
}  # fmt: skip
CHANCES = {5: (0.760431986813, 0.001933017309), 10: (0.626096592117, 0.367789183350)}


def after(bad: int) -> Belief:
    """Return the belief after so many bad pieces, each read as a word; next to nothing is left for other causes."""
    words = np.repeat(BAD[:, None, None], bad, axis=2)
    evidence = Evidence((), np.zeros(0), np.zeros((3, 1, 0)), np.zeros((3, 1, 0)), np.zeros(0), tuple(range(bad)),
                        words, np.zeros((3, 1)))  # fmt: skip
    return believe(BEFORE * (1.0 - 1e-13), evidence, np.zeros((3, 1), dtype=np.intp))


def decibels(belief: Belief) -> np.ndarray:
    return np.asarray(10.0 * np.log10(belief.posterior / (1.0 - belief.posterior)))


@pytest.mark.parametrize("bad", sorted(TABLE))
def test_belief_follows_the_table_of_bad_pieces(bad: int) -> None:
    belief = after(bad)
    assert decibels(belief) == pytest.approx(TABLE[bad], abs=2e-6)
    if bad in CHANCES:
        assert belief.posterior[[0, 2]] == pytest.approx(CHANCES[bad], abs=1e-9)


@pytest.mark.parametrize(("before", "now"), [(0, 1), (10, 11)])
def test_a_reading_weighs_what_it_added_given_all_the_others(before: int, now: int) -> None:
    added = np.array(TABLE[now]) - np.array(TABLE[before])
    weights = weights_of(after(now), now).db
    for reading in range(now):
        assert weights[:, reading] == pytest.approx(added, abs=1e-5)


def test_a_reading_that_is_not_used_weighs_nothing() -> None:
    assert np.all(weights_of(after(2), 5).db[:, 2:] == 0.0)


@pytest.mark.parametrize(
    ("quantity", "value", "text"),
    [
        ("volts", 0.0421, "0.042 V"), ("volts", 12.345, "12.35 V"), ("volts", -0.0001, "0 V"), ("volts", 0.0, "0 V"),
        ("amps", 29.96, "30.0 A"), ("celsius", 71.2, "71.2 degC"), ("ripple", 0.5, "0.50 V"), ("gravity", 1.2, "1.2"),
        ("load_test", 9.63, "9.6 V"), ("ohms", 8.0, "OL"), ("ohms", -1.0, "0.1 ohm"), ("ohms", 4.0, "1e+04 ohm"),
    ],
)  # fmt: skip
def test_amounts_are_said_with_their_unit(quantity: str, value: float, text: str) -> None:
    assert amount(quantity, value) == text


LAYOUT = "crew_cab_tray"
READINGS = (
    volts("start_pos", "start_neg", 14.1),
    volts("tray", "chassis", 0.62),
    word("look", "input_fuse", "good"),
)


def test_a_place_is_said_by_its_name() -> None:
    installation = engine(LAYOUT).installation
    assert place_words("charger_in", installation) == "charger input stud"
    assert place_words("tray_strap", installation) == "tray strap"
    assert place_words("input_cable@charger_in", installation) == "input cable, end at charger input stud"


def test_sentences_say_what_was_read_where_and_what_is_sound() -> None:
    held = engine(LAYOUT)
    belief = held.believe(Question(READINGS, None, ()))
    said = [reading_says(n, READINGS, belief, held.installation) for n in range(3)]
    low, high = sound_band(belief, 0)
    assert 13.4 < low < 14.1 < high < 14.9
    assert said[0] == (
        "volts from start battery positive post to start battery negative post: 14.10 V; "
        f"sound is {amount('volts', low)} to {amount('volts', high)} here"
    )
    assert said[1].startswith("0.620 V is lost between tray floor and chassis earth stud beside the start battery; ")
    assert said[2] == "look input fuse: good"


def test_what_was_fitted_is_said() -> None:
    held = engine(LAYOUT)
    take = Take("volts", ("charger_in", "charger_neg"), "engine_running", jumper=("tray", "chassis"))
    readings = (Reading(take, Read("number", "13.8 V", 13.8)),)
    belief = held.believe(Question(readings, None, ()))
    assert " with a jumper: 13.80 V; " in reading_says(0, readings, belief, held.installation)


@cache
def leader() -> Entry:
    return rank(LAYOUT, *READINGS).faults[0]


def test_the_reading_that_tells_is_the_first_reason() -> None:
    entry = leader()
    assert entry.fault[:2] == ("high_resistance", "tray_strap")
    assert entry.convicted
    assert entry.reasons_for[0].reading == 2
    assert entry.reasons_for[0].db > 10.0
    decibel = [abs(r.db) for r in entry.reasons_for]
    assert decibel == sorted(decibel, reverse=True)
    assert all(r.db >= 1.0 for r in entry.reasons_for)
    assert all(r.db <= -1.0 for r in entry.reasons_against)


def test_only_a_reading_that_a_sound_part_makes_unlikely_convicts() -> None:
    held = engine(LAYOUT)
    number = next(n for n, h in enumerate(held.hypotheses) if h.label == "high_resistance tray_strap")
    high, low = (
        against_sound(held.believe(Question((volts("tray", "chassis", value),), None, ())), number)
        for value in (0.62, 0.015)
    )
    assert high.max() > 20.0
    assert low.max() < 10.0


def test_evidence_is_odds_after_over_odds_before() -> None:
    held = engine(LAYOUT)
    belief = held.believe(Question(READINGS, None, ()))
    entry = leader()
    n = next(n for n, h in enumerate(held.hypotheses) if h.fault == entry.fault)
    odds = [p / (1.0 - p) for p in (entry.probability, belief.prior[n])]
    assert entry.evidence_db == pytest.approx(10.0 * np.log10(odds[0] / odds[1]), abs=1e-6)


def test_weights_are_what_belief_gains_by_the_reading() -> None:
    """To 2.5 dB: its strata are kept while it is left out. Causes that are not listed are left out on both sides."""
    held = engine(LAYOUT)
    whole = held.believe(Question(READINGS, None, ()))
    weights = weights_of(whole, len(READINGS)).db
    for gone in range(len(READINGS)):
        less = held.believe(Question(tuple(r for k, r in enumerate(READINGS) if k != gone), None, ()))
        after, before = (b.posterior / b.posterior.sum() for b in (whole, less))
        counts = np.flatnonzero(after > 0.001)
        gained = 10.0 * np.log10(after / (1.0 - after) * (1.0 - before) / before)
        assert len(counts) > 4
        assert weights[counts, gone] == pytest.approx(gained[counts], abs=2.5)


def test_what_speaks_for_and_against_a_suspect_is_told_apart() -> None:
    told = rank("crew_cab_tray", volts("charger_in", "charger_neg", 13.4), volts("tray", "chassis", 0.3)).faults[:5]
    for entry in told:
        assert all(reason.db >= 1.0 for reason in entry.reasons_for)
        assert all(reason.db <= -1.0 for reason in entry.reasons_against)
    assert any(entry.reasons_for for entry in told)
    assert any(entry.reasons_against for entry in told)


def test_a_reading_that_all_others_speak_against_is_doubted() -> None:
    sound = [volts("charger_in", "charger_neg", v) for v in (13.9, 13.92)]
    sound += [volts("start_pos", "start_neg", 14.1), volts("tray", "chassis", 0.02)]
    assert rank("crew_cab_tray", *sound).doubtful == ()
    off = volts("start_pos", "start_neg", 1.41)
    (doubt,) = rank("crew_cab_tray", *sound[:2], off, sound[3]).doubtful
    assert (doubt.reading, doubt.chance_wrong > 0.5) == (3, True)


def test_nine_sound_vehicles_in_ten_read_within_the_band_to_either_side() -> None:
    # Source: normal table, 1.645 standard deviations hold 90 %
    vehicles = np.full((2, 50, 1), 12.0)
    evidence = SimpleNamespace(predicted=vehicles, noise=np.full(vehicles.shape, 0.1))
    low, high = sound_band(SimpleNamespace(evidence=evidence), 0)  # type: ignore[arg-type]
    assert (low, high) == (pytest.approx(12.0 - 0.1645, abs=1e-3), pytest.approx(12.0 + 0.1645, abs=1e-3))

"""Parts of the ranking by themselves, on beliefs by hand: what is counted, joined and looked at straight."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.inference import ranking
from diagnose.inference.direct import is_direct
from diagnose.inference.entries import Said
from diagnose.inference.posterior import Belief
from diagnose.inference.ranking import Engine, Question
from diagnose.inference.reasons import Weights
from diagnose.inference.two_faults import SECOND_BEFORE
from diagnose.model.ranking import Entry, NextTest
from diagnose.model.reading import Read, Reading, Take
from tests.inference.engines import TOOLS, engine, rank, volts

LAYOUT = "solar_only_van"
NOTHING = Question((), None, TOOLS)


def held_by(belief: Belief) -> np.ndarray:
    return np.bincount(engine(LAYOUT)._bench.places, belief.posterior)


def with_pair(chance: float) -> tuple[Belief, tuple[Entry, ...], tuple[int, int]]:
    """Return the belief before any reading, the entries with one pair of that chance among them, and the pair."""
    asking = engine(LAYOUT)
    belief = asking.believe(NOTHING)
    first = 1
    second = next(n for n, h in enumerate(asking.hypotheses) if n > first and h.place != asking.hypotheses[first].place)
    entries = asking._entries(belief, Said((), None), held_by(belief), {(first, second): chance})
    return belief, entries, (first, second)


def test_what_was_skipped_is_not_counted_as_used() -> None:
    skipped = Reading(Take("volts", ("house_pos", "house_neg"), "loaded"), Read("skipped", "skipped"))
    found = rank(LAYOUT, volts("house_pos", "house_neg", 12.6, "at_rest"), skipped)
    assert found.readings_used == 1


@pytest.mark.parametrize("sizes", [(0, 3, 4, 1), (2, 0, 4, 1), (2, 3, 0, 1), (2, 3, 4, 0)])
def test_what_is_worked_out_is_the_sum_of_its_parts(sizes: tuple[int, int, int, int]) -> None:
    table, sound, whole, poor = (SimpleNamespace(size=size) for size in sizes)
    held = SimpleNamespace(_table=table, _sound=sound, predictor=whole, _poor=poor)
    held._parts = lambda: Engine._parts(held)  # type: ignore[arg-type]
    worked_out = Engine.worked_out.fget  # type: ignore[attr-defined]
    assert worked_out(held) == sum(sizes)


def test_the_gain_of_a_pair_is_that_of_its_odds() -> None:
    belief, entries, (first, second) = with_pair(0.2)
    (pair,) = [entry for entry in entries if entry.together]
    # one fault, a second beside it one time in so many, and of all that second may be, this one
    before = float(belief.prior[first] * belief.prior[second]) * SECOND_BEFORE
    assert pair.evidence_db == pytest.approx(10.0 * np.log10((0.2 / 0.8) / (before / (1.0 - before))), abs=1e-6)


def test_a_leader_that_is_a_pair_is_joined_with_nothing() -> None:
    belief, entries, _ = with_pair(0.6)
    likely = tuple(e if e.together else e._replace(probability=0.1) for e in entries)
    assert likely[0].together
    assert engine(LAYOUT)._joined(likely, belief, NOTHING._replace(tools=()), 0.0) is likely
    assert engine(LAYOUT)._joined(likely[:1], belief, NOTHING._replace(tools=()), 0.0) == likely[:1]


def test_without_any_test_left_a_leader_is_joined_with_the_likely_suspects_elsewhere() -> None:
    belief, entries, _ = with_pair(0.0)
    single = tuple(e._replace(probability=0.1) for e in entries if not e.together)
    (joined, *_) = engine(LAYOUT)._joined(single, belief, NOTHING._replace(tools=()), 0.0)
    assert joined.fault == single[0].fault
    assert joined.alternatives
    assert all(other.place != joined.fault.place for other in joined.alternatives)
    assert joined.probability == pytest.approx(0.1 * (1 + len(joined.alternatives)))


def test_a_leader_that_is_sure_is_looked_at_straight_first_and_no_other_test_is_lost() -> None:
    asking = engine(LAYOUT)
    belief = asking.believe(NOTHING)
    number = next(
        n for n, h in enumerate(asking.hypotheses)
        if h.fault is not None and any(is_direct(t, h.fault, asking.installation) for t in asking._table.takes)
        and belief.prior[n] > 0.0
    )  # fmt: skip
    sure = np.full(len(belief.posterior), 0.01 / len(belief.posterior))
    sure[number] = 0.98
    belief = belief._replace(posterior=sure, unlisted=0.01)
    leader = asking.hypotheses[number].fault
    assert leader is not None
    entries = asking._entries(belief, Said((), None), held_by(belief), {})
    assert entries[0].fault == leader
    others = tuple(
        NextTest(Take(quantity, ("charger",), "at_rest"), 1.0, 0.1, (), "", ()) for quantity in ("amps", "works")
    )
    tests, seen = asking._straight(others, belief, entries, held_by(belief), NOTHING)
    assert not seen
    assert is_direct(tests[0].take, leader, asking.installation)
    assert tests[1:] == others


def test_every_reading_that_speaks_against_a_suspect_is_named_however_little(monkeypatch: pytest.MonkeyPatch) -> None:
    asking = engine(LAYOUT)
    question = NOTHING._replace(readings=(volts("house_pos", "house_neg", 12.6, "at_rest"),))
    for db, named in ((-0.4, 1), (-7.0, 1), (0.4, 0)):
        weights = Weights(np.full((len(asking.hypotheses), 1), db))
        monkeypatch.setattr(ranking, "weights_of", lambda *_, weights=weights: weights)
        found = asking.why_not(question, asking.hypotheses[1].label)
        assert found is not None
        assert [reason.db for reason in found.reasons] == [db] * named

"""Random draws with a name: the same name draws the same, and every draw is spread over its whole range."""

from __future__ import annotations

import math

import numpy as np
import pytest

from diagnose.basics.quantities import Span
from diagnose.prediction.streams import Streams

COUNT = 2000


def test_the_same_name_draws_the_same_whatever_was_drawn_before() -> None:
    fresh, busy = Streams(5, COUNT), Streams(5, COUNT)
    for other in ("zone tray", "meter gain", "house_battery charge"):
        busy.share(other)
        busy.normal(other)
    assert np.array_equal(fresh.share("tray_strap bond None"), busy.share("tray_strap bond None"))
    assert np.array_equal(fresh.normal("tray_strap bond None"), busy.normal("tray_strap bond None"))


def test_other_names_and_other_seeds_draw_differently_and_without_relation() -> None:
    # The correlation of 2,000 independent draws has a standard deviation of 1/sqrt(2,000) = 0.022.
    streams = Streams(5, COUNT)
    ours = streams.share("a")
    for theirs in (streams.share("b"), Streams(6, COUNT).share("a"), streams.normal("a")):
        assert not np.array_equal(ours, theirs)
        assert abs(np.corrcoef(ours, theirs)[0, 1]) < 5 / math.sqrt(COUNT)


def test_each_stratum_holds_one_draw_and_their_order_is_random() -> None:
    share = Streams(7, COUNT).share("charge")
    assert np.array_equal(np.sort(np.floor(share * COUNT)), np.arange(COUNT))
    assert abs(np.corrcoef(share, np.arange(COUNT))[0, 1]) < 5 / math.sqrt(COUNT)


def test_even_draws_fill_their_range_to_both_ends() -> None:
    drawn = Streams(7, COUNT).even("charge", 20.0, 95.0)
    assert 20.0 <= drawn.min() < 20.0 + 75.0 / COUNT
    assert 95.0 - 75.0 / COUNT < drawn.max() <= 95.0
    assert drawn.mean() == pytest.approx(57.5, abs=75.0 / COUNT)


@pytest.mark.parametrize("stretch", [1.0, 1.5])
def test_stretch_widens_every_spread_about_its_middle(stretch: float) -> None:
    usual, wide = Streams(7, COUNT), Streams(7, COUNT, stretch)
    assert wide.even("x", 10.0, 14.0) - 12.0 == pytest.approx(stretch * (usual.even("x", 10.0, 14.0) - 12.0))
    assert wide.normal("x") == pytest.approx(stretch * usual.normal("x"))
    logs = (np.log(s.log_normal("j", 0.0003, 1.7) / 0.0003) for s in (wide, usual))
    assert next(logs) == pytest.approx(stretch * next(logs))


def test_a_span_is_drawn_and_what_is_known_is_not() -> None:
    streams = Streams(7, COUNT)
    assert np.all(streams.span("length", Span(4.8, 4.8)) == 4.8)
    drawn = streams.span("length", Span(3.0, 6.0))
    assert (drawn.min(), drawn.max()) == (pytest.approx(3.0, abs=0.01), pytest.approx(6.0, abs=0.01))


def test_factors_and_joints_are_spread_by_their_logarithm() -> None:
    streams = Streams(7, COUNT)
    factors = streams.factor("give", 1.5)
    assert (factors.min(), factors.max()) == (pytest.approx(1 / 1.5, rel=0.002), pytest.approx(1.5, rel=0.002))
    assert np.log(factors).mean() == pytest.approx(0.0, abs=0.001)
    # The median of 2,000 log-normal draws has a standard error of 1.25 log(1.7)/sqrt(2,000), 1.5 %; its spread 1.6 %.
    joints = np.log(streams.log_normal("joint", 0.0003, 1.7))
    assert np.exp(np.median(joints)) == pytest.approx(0.0003, rel=0.06)
    assert joints.std() == pytest.approx(math.log(1.7), rel=0.07)


def test_the_first_vehicles_are_those_of_the_whole() -> None:
    whole = Streams(7, 96, 1.2)
    few = whole.first(36)
    assert few.count == 36
    assert whole.first(500).count == 96
    for drawn in (lambda s: s.share("x"), lambda s: s.normal("x"), lambda s: s.even("y", 1.0, 2.0)):
        assert np.array_equal(drawn(few), drawn(whole)[:36])

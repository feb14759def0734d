"""Laws that hold whatever is read, most with random input: sums, order, repeats, skipped readings, names, scale."""

from __future__ import annotations

import json
from functools import cache

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from diagnose.inference.posterior import Belief
from diagnose.inference.ranking import Engine, Question
from diagnose.inference.sizes import size_after
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Reading, Take
from diagnose.present.json_forms import ranking_json
from tests.inference.engines import TOOLS, answers, chances, engine, rank, rule_base, volts

LAYOUT = "crew_cab_tray"
TAKES = (
    Take("volts", ("charger_in", "charger_neg"), "engine_running"),
    Take("volts", ("start_pos", "start_neg"), "engine_running"),
    Take("volts", ("tray", "chassis"), "engine_running"),
    Take("volts", ("house_pos", "house_neg"), "engine_running"),
    Take("amps", ("input_cable",), "engine_running"),
    Take("lamp", ("charger",), "engine_running"),
    Take("look", ("input_fuse",), "at_rest"),
    Take("tug", ("tray_strap",), "at_rest"),
)
FAULTS = (
    FaultAt("high_resistance", "tray_strap", size=0.03),
    FaultAt("open_circuit", "input_cable"),
    FaultAt("undercharging", "alternator", size=12.6),
)
RUNS = settings(max_examples=6, deadline=None, derandomize=True, database=None, phases=[Phase.generate])


@cache
def pool(number: int) -> tuple[Reading, ...]:
    """Return what a vehicle with one of the faults answers to every test, the same for all examples."""
    return answers(LAYOUT, FAULTS[number], *TAKES)


@st.composite
def found(draw: st.DrawFn) -> tuple[Reading, ...]:
    """Draw some of the readings of a vehicle, in any order; one of the volts may be mistaken."""
    readings = list(draw(st.permutations(pool(draw(st.integers(0, len(FAULTS) - 1))))))
    readings = readings[: draw(st.integers(1, len(TAKES)))]
    numbers = [i for i, r in enumerate(readings) if r.read is not None and r.read.kind == "number"]
    if numbers and draw(st.booleans()):
        at, value = draw(st.sampled_from(numbers)), draw(st.integers(-300, 1600)) / 100
        unit = "A" if readings[at].take == TAKES[4] else "V"
        readings[at] = readings[at]._replace(read=Read("number", f"{value:.2f} {unit}", value))
    return tuple(readings)


def belief(readings: tuple[Reading, ...], of: Engine | None = None) -> Belief:
    return (of or engine(LAYOUT)).believe(Question(readings, None, TOOLS))


def apart(one: Belief, other: Belief) -> float:
    """Return the total variation between two beliefs, the unlisted cause among them."""
    moved = float(abs(one.posterior - other.posterior).sum())
    return 0.5 * (moved + abs(one.unlisted - other.unlisted))


@RUNS
@given(found())
def test_probabilities_sum_to_one(readings: tuple[Reading, ...]) -> None:
    after = belief(readings)
    assert after.posterior.min() >= 0.0
    assert float(after.posterior.sum()) + after.unlisted == pytest.approx(1.0, abs=1e-9)


@RUNS
@given(found(), st.randoms(use_true_random=False))
def test_order_does_not_matter(readings: tuple[Reading, ...], random: object) -> None:
    turned = list(readings)
    random.shuffle(turned)  # type: ignore[attr-defined]
    assert apart(belief(readings), belief(tuple(turned))) < 1e-9


@RUNS
@given(found(), st.sampled_from(TAKES), st.integers(0, len(TAKES)))
def test_skipped_says_nothing(readings: tuple[Reading, ...], take: Take, at: int) -> None:
    skipped = Reading(take, Read("skipped", "skipped"))
    assert apart(belief(readings), belief((*readings[:at], skipped, *readings[at:]))) < 1e-12


@RUNS
@given(found(), st.integers(0, len(TAKES) - 1), st.integers(1, 4))
def test_a_repeat_adds_nearly_nothing(readings: tuple[Reading, ...], which: int, times: int) -> None:
    again = readings[which % len(readings)]
    assert apart(belief(readings), belief((*readings, *(again,) * times))) < 0.02


@cache
def renamed(old: str, new: str) -> Engine:
    """Return an engine of the same wiring with a point under another name."""
    text = engine(LAYOUT).installation.model_dump_json().replace(f'"{old}"', f'"{new}"')
    return Engine(Installation.model_validate_json(text), *rule_base(), 1)


@RUNS
@given(found(), st.just(("tray", "deck")))
def test_names_of_points_do_not_matter(readings: tuple[Reading, ...], names: tuple[str, str]) -> None:
    """But for healthy joints, whose draws their names seed: the same vehicles were never meant."""
    old, new = names
    other = tuple(
        r._replace(take=r.take._replace(where=tuple(new if w == old else w for w in r.take.where)))
        for r in readings
        if r.take is not None
    )
    assert apart(belief(readings), belief(other, renamed(old, new))) < 0.25


@RUNS
@given(st.sampled_from(FAULTS[:1]), st.sets(st.integers(0, 3), min_size=2))
def test_voltages_alone_leave_ohms_wide(fault: FaultAt, which: set[int]) -> None:
    """Every resistance could be larger by one factor: without a current no size is known closely."""
    readings = tuple(pool(FAULTS.index(fault))[k] for k in sorted(which))
    asking, after = engine(LAYOUT), belief(readings)
    for number in (int(n) for n in after.posterior.argsort()[::-1][:3]):
        rule = asking.hypotheses[number].rule
        if rule is not None and rule.size is not None and rule.size.unit == "ohm":
            size = size_after(after, number, asking.predictor.sizes(number), "ohm", rule.size.spread == "log_even")
            assert size.high / size.low > 1.3


@pytest.mark.slow
def test_probabilities_sum_to_one_also_in_the_json() -> None:
    readings = pool(0)
    for count in (0, 1, 3, len(TAKES)):
        ranking = rank(LAYOUT, *readings[:count])
        assert sum(chances(ranking).values()) == pytest.approx(1.0, abs=1e-9)
        form = json.loads(ranking_json(ranking))
        total = sum(f["probability"] for f in form["faults"]) + form["no_fault"] + form["unlisted"]
        assert total == pytest.approx(1.0, abs=1e-6)


def test_an_unlisted_cause_grows_when_nothing_fits() -> None:
    fitting = rank(LAYOUT, *pool(0)[:3])
    odd = rank(
        LAYOUT,
        volts("start_pos", "start_neg", 14.1),
        volts("charger_in", "charger_neg", 2.0),
        volts("start_pos", "charger_in", 0.03),
        volts("chassis", "start_neg", 5.0),
        volts("charger_neg", "chassis", -3.1),
    )
    assert fitting.unlisted < 0.05 < odd.unlisted


def test_the_same_question_gives_the_same_bytes() -> None:
    fresh = Engine(engine(LAYOUT).installation, *rule_base(), 1)
    assert ranking_json(fresh.rank(Question(pool(0)[:4], None, TOOLS))) == ranking_json(rank(LAYOUT, *pool(0)[:4]))

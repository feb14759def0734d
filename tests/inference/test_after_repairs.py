"""What is believed after several repairs, of which some were in vain."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from diagnose.inference import after_repairs
from diagnose.inference.after_repairs import SECOND_AFTER
from diagnose.inference.posterior import shares
from diagnose.inference.ranking import Question
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Reading, Take
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import load_layout
from tests.inference.engines import TOOLS, engine, rule_base

LAYOUT = "solar_only_van"
FUSE, PANEL = FaultAt("blown", "house_fuse"), FaultAt("no_output", "panel")
TAKES = (
    Take("volts", ("house_pos", "charger_out"), "sun_only"),
    Take("volts", ("house_pos", "house_fuse_load"), "sun_only"),
    Take("lamp", ("charging",), "sun_only"),
)


@cache
def read(broken: bool) -> tuple[Reading, ...]:
    rules, tables = rule_base()
    hidden = Hypothesis(FUSE, rules.faults[FUSE.fault], 1.0) if broken else SOUND
    vehicle = SimulatedVehicle(load_layout(LAYOUT), rules, tables, hidden, 18)
    return tuple(Reading(take, vehicle.answer(take)) for take in TAKES)


def mended(fault: FaultAt) -> Reading:
    return Reading(None, None, fault)


def number(fault: FaultAt) -> int:
    return next(n for n, h in enumerate(engine(LAYOUT).hypotheses) if h.fault == fault)


#: a panel was changed in vain before the fuse was; the fuse was changed and then the panel, in vain
VAIN_FIRST = (*read(True), mended(PANEL), *read(True), mended(FUSE), *read(False))
VAIN_LAST = (*read(True), mended(FUSE), *read(False)[:1], mended(PANEL), *read(False))
#: the first of two new fuses was no better
TWICE = (*read(True), mended(FUSE), *read(True), mended(FUSE), *read(False))


@pytest.mark.parametrize(
    ("readings", "course"),
    [(VAIN_FIRST, (None, FUSE)), (VAIN_LAST, (FUSE, None)), (TWICE, (None, FUSE))],
    ids=["vain first", "vain last", "twice"],
)
def test_a_repair_in_vain_does_not_hide_the_one_that_mended(
    readings: tuple[Reading, ...], course: tuple[FaultAt | None, ...]
) -> None:
    belief = engine(LAYOUT).believe(Question(readings, None, TOOLS))
    assert belief.mended == tuple(None if fault is None else number(fault) for fault in course)
    assert belief.posterior[0] > 1.1 * (1.0 - SECOND_AFTER), "likelier than right after the repair"
    assert belief.posterior[0] > 3.0 * belief.posterior[1:].max()
    assert belief.posterior.sum() + belief.unlisted == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("readings", [VAIN_FIRST, VAIN_LAST, TWICE], ids=["vain first", "vain last", "twice"])
def test_what_is_not_followed_could_not_have_changed_the_belief(
    readings: tuple[Reading, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    question = Question(readings, None, TOOLS)
    belief = engine(LAYOUT).believe(question).posterior
    monkeypatch.setattr(after_repairs, "RULED_OUT", np.inf)
    monkeypatch.setattr(after_repairs, "FOLLOWED", 99)
    engine(LAYOUT)._repaired._left.clear()
    followed = engine(LAYOUT)._repaired
    assert np.abs(engine(LAYOUT).believe(question).posterior - belief).max() < 1e-3
    assert sorted(len(courses) for courses in followed._left.values())[1] == 2, "all courses were followed"
    followed._left.clear()


@pytest.mark.parametrize(
    ("readings", "numbers"),
    [(VAIN_FIRST, (0,)), (VAIN_LAST, (1,)), (TWICE, (0,)), (read(True), ()), ((mended(FaultAt("blown", "none")),), ())],
    ids=["vain first", "vain last", "twice", "no repair", "nothing known"],
)
def test_the_ranking_tells_which_repairs_were_not_needed(
    readings: tuple[Reading, ...], numbers: tuple[int, ...]
) -> None:
    assert engine(LAYOUT).rank(Question(readings, None, TOOLS)).vain == numbers


def test_where_nothing_explains_the_readings_the_likeliest_hypotheses_are_still_told() -> None:
    posterior, unlisted = shares(np.array([-900.0, -902.0, -np.inf]), -1.0)
    assert posterior.sum() > 0.0
    assert posterior[0] / posterior[1] == pytest.approx(np.exp(2.0))
    assert posterior[2] == 0.0
    assert posterior.sum() + unlisted == pytest.approx(1.0, abs=1e-15)


def test_chances_are_in_the_ratio_of_what_they_come_from() -> None:
    posterior, unlisted = shares(np.log([0.3, 0.1]) - 50.0, float(np.log(0.1)) - 50.0)
    assert [*posterior, unlisted] == pytest.approx([0.6, 0.2, 0.2])


def test_the_belief_that_is_carried_on_is_never_one_known_roughly(monkeypatch: pytest.MonkeyPatch) -> None:
    held = engine(LAYOUT)
    full = held.believe(Question(VAIN_FIRST, None, TOOLS))
    count = len(full.posterior)
    # What is listed explains badly on the likelier course, and all but nothing explains on the other.
    likely = after_repairs._Weighed((None, None), full, np.full(count, -200.0), -50.0)
    far = after_repairs._Weighed((1, None), full._replace(log_evidence=1.0), np.full(count, -100.0), -400.0)
    monkeypatch.setattr(held._repaired, "_weighed", lambda *_: [far, likely])
    assert held.believe(Question(VAIN_FIRST, None, TOOLS)).mended == (None, None)


def test_a_repair_mends_whatever_was_wrong_at_its_place() -> None:
    """A joint was renewed as open; that it came and went is told by the reading as well, and it is gone too."""
    open_, loose = (FaultAt(kind, "panel_cable", "panel_pos") for kind in ("open_circuit", "intermittent"))
    lug = Take("ohms", ("panel_pos", "panel_cable@panel_pos"), "isolated")
    before, after = Reading(lug, Read("over_range", "OL")), Reading(lug, Read("number", "0.1 ohm", 0.1))
    ask = engine(LAYOUT)
    first = ask.believe(Question((before,), None, TOOLS)).posterior
    assert min(first[number(open_)], first[number(loose)]) > 0.05, "the reading does not tell them apart"
    found = {name: ask.believe(Question((before, mended(fault), after), None, TOOLS)) for name, fault in (
        ("open", open_), ("loose", loose), ("elsewhere", PANEL))}  # fmt: skip
    assert found["open"].posterior == pytest.approx(found["loose"].posterior, abs=0.01), "it does not hang on the name"
    for name in ("open", "loose"):
        assert found[name].mended[0] in (number(open_), number(loose))
        assert found[name].posterior[[number(open_), number(loose)]].sum() < 0.02
    assert found["elsewhere"].mended == (None,)

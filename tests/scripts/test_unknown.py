"""Scripts for a caller who does not know what is fitted: what is unknown is asked for where it matters, and helps."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.complaints import complaint_ratio, match_complaint
from diagnose.inference.prior import prior_of
from diagnose.model.reading import Read, Take
from diagnose.model.script import UNKNOWN, Question, Script
from diagnose.prediction.hypotheses import all_hypotheses
from diagnose.prediction.streams import Streams
from diagnose.scripts.compiling import Sources, compile_script
from diagnose.scripts.deciding import needs, owner_acts
from diagnose.scripts.mixing import Mixed, is_had
from diagnose.scripts.playing import play
from diagnose.scripts.versions import Version, versions_of
from diagnose.store.installation_checks import check_installation
from diagnose.store.installations import layout_ids
from diagnose.store.unknowns import load_unknowns
from tests.scripts.orders import EYES, METER, made, open_sources, ordered, sources
from tests.scripts.test_plays import CANNOT, WRONG, vehicle_of


class Caller:
    """An owner who does not know: what is fitted is answered by the vehicle's version, a test that cannot be taken
    there is skipped, some answers are mistaken, others cannot be given.
    """

    def __init__(self, number: int, told: Sources, version: Version) -> None:
        self.version, self._number = version, number
        every = all_hypotheses(version.installation, told.rules)
        rule = match_complaint("no_charge_driving", told.rules)
        prior = prior_of(every, [complaint_ratio(rule, h, version.installation) for h in every])[1:]
        here = told._replace(installation=version.installation)
        self.vehicle = vehicle_of(number, here, list(every[1:]), prior / prior.sum())

    def __call__(self, take: Take, danger: bool) -> Read:
        chance = np.random.Generator(np.random.PCG64([self._number, *repr(take).encode()]))
        if chance.random() < CANNOT:
            return Read("skipped", "skipped")
        if take.quantity == UNKNOWN:
            word = self.version.answers[take.where[0]]
            if chance.random() < WRONG:
                others = [w for w in load_unknowns()[take.where[0]].answers if w != word]
                word = str(chance.choice(others))
            return Read("word", word, word=word)
        if not is_had(take, self.version.installation):
            return Read("skipped", "skipped")
        return self.vehicle.told(take)


def callers(layout: str, first: int, count: int) -> list[Caller]:
    """Return callers whose vehicles are of any version, by its share, also of those that a script leaves out."""
    told = open_sources(layout)
    every = versions_of(told.installation, told.unknowns, 1000)
    drawn = np.random.Generator(np.random.PCG64([first, count])).choice(
        len(every), count, p=[version.share for version in every]
    )  # fmt: skip
    return [Caller(first + n, told, every[int(k)]) for n, k in enumerate(drawn)]


def right(script: Script, told: Sources, calls: list[Caller]) -> float:
    """Return the share of calls after which a person is sent just where one is needed."""
    can = owner_acts(told.words.owner_can, ("covers", "engine"))
    return float(np.mean([
        play(script, call).end.send == needs(call.vehicle.hidden, told.installation, can) for call in calls
    ]))  # fmt: skip


def asked(script: Script) -> list[str]:
    """Return the ids of what is asked for, in the order of the cards."""
    return [step.unknown for step in script.steps.values() if isinstance(step, Question) and step.unknown]


@pytest.mark.parametrize("layout", layout_ids())
def test_every_answer_leaves_an_installation_that_may_be(layout: str) -> None:
    told = open_sources(layout)
    every = versions_of(told.installation, told.unknowns, 1000)
    assert sum(version.share for version in every) == pytest.approx(1.0)
    for version in every:
        assert list(check_installation(version.installation, {})) == []
        assert set(version.installation.parts) <= set(told.installation.parts)
    for name, one in told.unknowns.items():
        for word, answer in one.answers.items():
            share = sum(version.share for version in every if version.answers[name] == word)
            assert share == pytest.approx(answer.share)
            assert any(version.answers[name] == word for version in told.versions), "an answer that no version has"
    assert len(told.versions) <= 6


def test_what_is_taken_away_takes_its_leads_with_it() -> None:
    told = open_sources("portable_panel", ("panel",))
    without = next(v.installation for v in told.versions if v.answers["panel"] == "no")
    gone = set(told.installation.parts) - set(without.parts)
    assert {"panel", "panel_lead", "panel_lead_return", "plug_positive", "plug_negative"} <= gone
    assert "house_battery" in without.parts
    assert "charger" in without.parts
    assert not is_had(Take("look", ("panel",), "at_rest"), without)
    assert is_had(Take("look", ("charger",), "at_rest"), without)
    assert not is_had(Take("lamp", ("charging",), "sun_only"), without)


def test_one_version_gives_the_same_script_as_without() -> None:
    told = sources("crew_cab_tray")
    one = told._replace(versions=(Version(told.installation, 1.0, {}),))
    assert compile_script(one, ordered(EYES, 4)) == made("crew_cab_tray", EYES, 4)


def test_versions_that_are_the_same_are_the_same_vehicles() -> None:
    """A mixture of one installation with itself predicts what that installation does, fault by fault."""
    told = sources("crew_cab_tray")
    every = all_hypotheses(told.installation, told.rules)[:40]
    versions = [Version(told.installation, 0.5, {}), Version(told.installation, 0.5, {})]
    mixed = Mixed(versions, [every, every], told.tables, lambda count: Streams(1, count))
    takes = [Take("volts", ("house_pos", "house_neg"), "engine_running"), Take("lamp", ("charging",), "engine_running")]
    volts, lamp = mixed.predict(takes)
    half = mixed.count // 2
    assert mixed.hypotheses == every
    assert np.array_equal(volts.high[:, :half], volts.high[:, half:])
    assert np.ptp(volts.high) > 0.5
    assert lamp.words is not None
    assert np.allclose(sum(lamp.words.values()), 1.0)


def test_it_is_asked_for_only_where_it_matters() -> None:
    """Whether there is a panel says nothing of lights that dim; whether the engine's source rests says much of a
    battery that is not charged while driving.
    """
    told = open_sources("canopy", ("panel",))
    assert asked(compile_script(told, ordered(EYES, 5)._replace(complaint="lights_dim_with_pump"))) == []
    told = open_sources("van_lfp_seat", ("regulation",))
    script = compile_script(told, ordered(METER, 8))
    assert set(asked(script)) == {"regulation"}
    first = next(k for k, step in script.steps.items() if isinstance(step, Question) and step.unknown)
    assert first != script.root
    card = script.steps[first]
    assert isinstance(card, Question)
    assert [a.read for a in card.answers] == ["yes", "no", "skipped"]
    assert card.minutes == 0.5
    assert card.cautions == ()


@pytest.mark.slow
def test_asking_helps_callers_whose_vehicle_may_be_any_version() -> None:
    """The figures are printed: run it with -s to read them."""
    told = sources("van_lfp_seat")
    calls = callers("van_lfp_seat", 60000, 200)
    plain = right(made("van_lfp_seat", METER, 8), told, calls)
    asking = right(compile_script(open_sources("van_lfp_seat"), ordered(METER)), told, calls)
    print(f"right decisions with the layout as it stands {plain:.3f}, where it asks what is unknown {asking:.3f}")
    assert asking > plain

"""What is asked at the start with its cautions, and how a walk that found nothing ends, on answers made by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Ranking, Stop
from diagnose.model.reading import Read, Reading, Take
from diagnose.present.report_page import _follows
from diagnose.present.walk_finding import finding_lines
from diagnose.session import cautions
from diagnose.session.asking import step_of
from diagnose.session.facts import Facts
from diagnose.session.steps import Ask, Finding
from tests.session.drivers import TOOLS, adviser, rule_base

#: cautions of proving a meter on a known battery
METER = {"volts_sockets", "eyes_and_rings"}


def asked_with(facts: Facts) -> set[str]:
    step = step_of(facts, adviser("solar_only_van"))
    assert isinstance(step, Ask)
    return {reminder.id for reminder in step.cautions}


@pytest.mark.parametrize("state", ["alarm", "standing", "tools", "meter", "complaint", "seen"])
def test_the_meter_is_proved_with_its_own_cautions_and_nothing_else_is_asked_with_them(state: str) -> None:
    assert (asked_with(Facts(state=state, tools=TOOLS)) & METER == METER) == (state == "meter")


def test_the_cautions_of_the_place_come_with_the_meter_where_the_tools_are_known() -> None:
    place = set(cautions.for_standing("roadside", rule_base()[0]))
    state = "".join(["me", "ter"])  # as it comes from a record: equal to the name, not the same object
    assert place
    assert place <= asked_with(Facts(state=state, standing="roadside", tools=TOOLS))


def ended(stop: Stop | None, *mended: FaultAt) -> Finding:
    ranking = Ranking(0, (), 0.1, (), 0.9, (), (), stop)
    asked = SimpleNamespace(ranking=lambda _: ranking, settling=lambda _: None)
    readings = tuple(Reading(None, None, fault) for fault in mended)
    step = step_of(Facts(state="ended", readings=readings), asked)  # type: ignore[arg-type]
    assert isinstance(step, Finding)
    return step


FUSE = FaultAt("blown", "input_fuse")


@pytest.mark.parametrize(
    ("because", "mended", "says"),
    [
        ("found", (), "not_proved"), ("repaired", (), "not_proved"), ("no_fault", (FUSE,), "not_proved"),
        ("no_fault", (), "no_fault"), ("unlisted", (FUSE,), "unlisted"),
    ],
)  # fmt: skip
def test_an_end_without_a_proof_says_so(because: str, mended: tuple[FaultAt, ...], says: str) -> None:
    finding = ended(Stop(because, "as the ranking says"), *mended)
    assert (finding.because, finding.says) == (says, "as the ranking says")


@pytest.mark.parametrize("times", [1, 2])
def test_what_was_mended_twice_is_named_once_and_not_to_be_bought_a_third_time(times: int) -> None:
    here = adviser("crew_cab_tray")
    finding = Finding("not_proved", mended=(FUSE,) * times)
    text = " ".join(finding_lines(finding, here.installation, here.rules, 80))
    assert text.count("blown fuse") == 1
    assert ("before another part is spent" in text) == (times == 2)
    assert ("known-good part" in text) == (times == 1)


PANEL = FaultAt("no_output", "panel")


@pytest.mark.parametrize(
    ("mended", "idle", "needed", "vain"),
    [
        ((FUSE,), (), (FUSE,), ()), ((PANEL, FUSE), (0,), (FUSE,), (PANEL,)), ((FUSE, PANEL), (1,), (FUSE,), (PANEL,)),
        ((FUSE, FUSE), (0,), (FUSE,), ()), ((FUSE,), (0,), (FUSE,), ()),
        ((PANEL, PANEL, FUSE), (0, 1), (FUSE,), (PANEL,)),
    ],
)  # fmt: skip
def test_a_proved_end_tells_repairs_that_were_not_needed_from_those_that_were(
    mended: tuple[FaultAt, ...], idle: tuple[int, ...], needed: tuple[FaultAt, ...], vain: tuple[FaultAt, ...]
) -> None:
    ranking = Ranking(0, (), 0.9, (), 0.1, (), (), None, vain=idle)
    readings = tuple(Reading(None, None, fault) for fault in mended)
    asked = SimpleNamespace(ranking=lambda _: ranking)
    step = step_of(Facts(state="done", readings=readings), asked)  # type: ignore[arg-type]
    assert isinstance(step, Finding)
    assert (step.mended, step.vain) == (needed, vain)
    here = adviser("solar_only_van")
    words = " ".join(finding_lines(step._replace(mended=(PANEL,)), here.installation, here.rules, 80))
    assert ("without a sign that it was needed" in words) == bool(vain)
    listed = _follows(Facts(state="done", readings=readings), ranking, here.installation, here.rules)
    assert sum(line.endswith(", without a sign that it was needed") for line in listed) == len(mended) - sum(
        fault in needed for fault in mended
    )


def test_where_the_ranking_would_go_on_the_tests_are_spent() -> None:
    finding = ended(None)
    assert (finding.because, finding.says) == ("tests_spent", "")


@pytest.mark.parametrize("asked", [0, 1, 4])
def test_a_doubt_is_the_question_after_those_that_were_asked(asked: int) -> None:
    here = adviser("solar_only_van")
    pending = Reading(Take("volts", ("house_pos", "house_neg"), "at_rest"), Read("number", "126 V", 126.0))
    doubting = SimpleNamespace(installation=here.installation, rules=here.rules, slips=lambda _: ("decimal",))
    step = step_of(Facts(state="doubt", asked=asked, pending=pending), doubting)  # type: ignore[arg-type]
    assert isinstance(step, Ask)
    assert (step.number, step.slips, step.pending) == (asked + 1, ("decimal",), pending)

"""The examples beside faults and causes, run through the engine: those that must rank first do, look-alikes do not."""

from __future__ import annotations

from functools import cache

import pytest

from diagnose.inference.causes import likely_causes
from diagnose.inference.complaints import match_complaint
from diagnose.inference.ranking import Engine, Question
from diagnose.store.rule_examples import LoadedExample, load_cause_examples, load_examples
from tests.inference.engines import TOOLS, rule_base

EXAMPLES, CAUSES = load_examples(), load_cause_examples()
#: causes whose examples run each time; the others take longer than a quick run may
QUICK = {"melted_holder", "lug_on_insulation", "paint_under_lug", "stiff_locking_nut", "slipping_belt", "tired_battery"}


@cache
def _engine(description: str) -> Engine:
    every = (*EXAMPLES, *CAUSES)
    installation = next(e.installation for e in every if e.installation.model_dump_json() == description)
    return Engine(installation, *rule_base(), 1)


def _leads(example: LoadedExample) -> tuple[bool, str]:
    """Return whether the place of an example ranks first, nothing wrong included, and what does."""
    engine = _engine(example.installation.model_dump_json())
    belief = engine.believe(Question(example.readings.readings, example.readings.complaint, TOOLS))
    order = sorted(range(1, len(engine.hypotheses)), key=lambda n: -belief.posterior[n])
    leader = engine.hypotheses[order[0]].fault
    assert leader is not None
    sound_leads = belief.posterior[0] > belief.posterior[order[0]]
    first = not sound_leads and (leader.fault, leader.part, leader.at) == tuple(example.place[:3])
    return first, f"{leader} leads with {belief.posterior[order[0]]:.3f}"


@pytest.mark.parametrize("example", EXAMPLES, ids=[e.label for e in EXAMPLES])
def test_example_ranks_as_it_says(example: LoadedExample) -> None:
    first, says = _leads(example)
    assert first == example.example.ranks_first, says


#: known defect: the place comes out just behind nothing wrong (.163 to .197)
NOT_YET = ("profile_lead_left_open 1",)


def _marked(example: LoadedExample) -> object:
    marks = [] if example.rule.id in QUICK else [pytest.mark.slow]
    if example.label in NOT_YET:
        marks.append(pytest.mark.xfail(reason="nothing wrong leads by a little", strict=True))
    return pytest.param(example, id=example.label, marks=marks)


@pytest.mark.parametrize("example", [_marked(e) for e in CAUSES])
def test_cause_leads_as_its_example_says(example: LoadedExample) -> None:
    first, says = _leads(example)
    engine = _engine(example.installation.model_dump_json())
    complaint = match_complaint(example.readings.complaint, engine.rules)
    readings = example.readings.readings
    causes = likely_causes(example.place, engine.installation, engine.rules, engine.sights, readings, complaint)
    leads = first and bool(causes) and causes[0].cause == example.rule.id
    assert leads == example.example.ranks_first, f"{says}; causes {[(c.cause, c.probability) for c in causes]}"

"""The examples beside the fault rules, run through the engine: those that must rank first do, look-alikes do not."""

from __future__ import annotations

from functools import cache

import pytest

from diagnose.inference.ranking import Engine, Question
from diagnose.store.rule_examples import LoadedExample, load_examples
from tests.inference.engines import TOOLS, rule_base

EXAMPLES = load_examples()


@cache
def _engine(description: str) -> Engine:
    installation = next(e.installation for e in EXAMPLES if e.installation.model_dump_json() == description)
    return Engine(installation, *rule_base(), 1)


@pytest.mark.parametrize("example", EXAMPLES, ids=[e.label for e in EXAMPLES])
def test_example_ranks_as_it_says(example: LoadedExample) -> None:
    engine = _engine(example.installation.model_dump_json())
    belief = engine.believe(Question(example.readings.readings, example.readings.complaint, TOOLS))
    order = sorted(range(1, len(engine.hypotheses)), key=lambda n: -belief.posterior[n])
    leader = engine.hypotheses[order[0]].fault
    assert leader is not None
    sound_leads = belief.posterior[0] > belief.posterior[order[0]]
    first = not sound_leads and (leader.fault, leader.part, leader.at) == tuple(example.place[:3])
    assert first == example.example.ranks_first, f"{leader} leads with {belief.posterior[order[0]]:.3f}"

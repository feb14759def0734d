"""Simulated vehicles answer the walk to its end: the fault is found and proved, nothing is asked twice without reason,
nothing that the tools cannot do, no caution is missed, and at most twenty tests are asked for.
"""

from __future__ import annotations

from collections import Counter

import pytest

from diagnose.inference.candidates import candidates
from diagnose.session import cautions
from diagnose.session.judging import MOST_QUESTIONS
from diagnose.session.steps import Finding
from diagnose.session.walk import Session
from tests.session import drivers
from tests.session.drivers import TOOLS, Bench, adviser, hypothesis

#: share of walks that must end with the true place mended and proved; the rest end honestly
FOUND = 0.6
SAMPLE = 2
SEED = 21


def fair(bench: Bench, finding: Finding) -> None:
    """Check what holds for every walk, whatever it found."""
    looks, tests = 0, Counter[int]()
    for each in bench.asked:
        looks += each.ask.kind == "alarm"
        tests[looks] += each.ask.kind in ("test", "again")
    assert max(tests.values()) <= MOST_QUESTIONS
    allowed = set(candidates(bench.installation, bench.tools))
    epoch, seen = 0, Counter[object]()
    shown: set[str] = set()
    for each in bench.asked:
        take = each.ask.take
        if each.ask.kind == "repair":
            epoch += 1
        elif take is not None and each.ask.kind in ("test", "proof"):
            assert take in allowed, take
            if each.ask.kind == "test":
                assert not seen[(epoch, take)], f"asked twice: {take}"
            seen[(epoch, take)] += 1
            ids = cautions.for_take(take, bench.installation, drivers.rule_base()[0])
            assert set(ids) <= {c.id for c in each.ask.cautions}
            assert {c.id for c in each.ask.cautions if not c.new} <= shown
            shown |= {c.id for c in each.ask.cautions}
    if finding.because == "repaired":
        assert finding.proved, "no repair counts without a reading"


@pytest.mark.parametrize(
    "tools", [pytest.param(TOOLS, marks=pytest.mark.slow), ("multimeter",), ("eyes",)], ids=" ".join
)
def test_a_walk_on_the_smallest_layout(tools: tuple[str, ...]) -> None:
    bench = Bench("solar_only_van", hypothesis("solar_only_van", "blown house_fuse"), SEED, tools)
    session = Session(adviser("solar_only_van"))
    fair(bench, bench.walk(session))

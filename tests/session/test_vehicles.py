"""Simulated vehicles answer the walk to its end: the fault is found and proved, nothing is asked twice without reason,
nothing that the tools cannot do, no caution is missed, and at most twenty tests are asked for.
"""

from __future__ import annotations

import random
from collections import Counter

import pytest

from diagnose.inference.candidates import candidates
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.session import cautions
from diagnose.session.judging import MOST_QUESTIONS
from diagnose.session.steps import Finding
from diagnose.session.walk import Session
from diagnose.store.installations import layout_ids
from tests.session import drivers
from tests.session.drivers import TOOLS, Bench, adviser, hypothesis

#: share of walks that must end with the true place mended and proved; the rest end honestly
FOUND = 0.6
SAMPLE = 2
SEED = 21


def fair(bench: Bench, finding: Finding) -> None:
    """Check what holds for every walk, whatever it found."""
    tests = [each for each in bench.asked if each.ask.kind in ("test", "again")]
    assert len(tests) <= MOST_QUESTIONS
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


@pytest.mark.parametrize("tools", [TOOLS, ("multimeter",), ("eyes",)], ids=" ".join)
def test_a_walk_on_the_smallest_layout(tools: tuple[str, ...]) -> None:
    bench = Bench("solar_only_van", hypothesis("solar_only_van", "blown house_fuse"), SEED, tools)
    session = Session(adviser("solar_only_van"))
    fair(bench, bench.walk(session))


@pytest.mark.slow
def test_walks_on_every_layout() -> None:
    chance = random.Random(SEED)
    results = []
    for layout in layout_ids():
        for faults in _drawn(layout, SAMPLE, 1, chance) + _drawn(layout, 1, 2, chance):
            bench = Bench(layout, faults[0], SEED, also=faults[1:])
            finding = bench.walk(Session(adviser(layout)))
            fair(bench, finding)
            places = {(m.part, m.at) for m in bench.mended}
            hidden = {(h.fault.part, h.fault.at) for h in faults if h.fault is not None}
            asked = sum(each.ask.kind in ("test", "again") for each in bench.asked)
            proved = hidden <= places and finding.because == "repaired"
            results.append((layout, [h.label for h in faults], proved, finding.because, asked))
        adviser.cache_clear()
    singles = [proved for _, faults, proved, *_ in results if len(faults) == 1]
    print("\n".join(map(str, results)), f"\nfound and proved {sum(singles)} of {len(singles)} single faults")
    assert sum(singles) / len(singles) >= FOUND


def _drawn(layout: str, count: int, together: int, chance: random.Random) -> list[list[Hypothesis]]:
    """Return faults of different kinds, at places drawn by chance; `together` at once on one vehicle."""
    faults = [h for h in drivers._hypotheses(layout) if h.rule is not None]
    found = []
    for _ in range(count):
        kinds = chance.sample(sorted({h.rule.id for h in faults if h.rule is not None}), together)
        found.append([chance.choice([h for h in faults if h.rule is not None and h.rule.id == k]) for k in kinds])
    return found

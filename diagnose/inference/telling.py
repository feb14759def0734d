"""The tests that show one fault most surely on an installation: what a sound and what a faulty one reads on each.

It goes by predictions alone and knows no readings; which test to take next is another question (`next_tests`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.inference.candidates import candidates, minutes_of
from diagnose.model.figures import Tables
from diagnose.model.handbook import Telling
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.model.terminals import points_of
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.prediction.predictor import Predicted, Predictor
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams

__all__ = ["telling_tests"]

#: vehicles that tests are compared on; the bands shown are those of `expected_readings`
VEHICLES = 64
#: share of faulty vehicles that must read unlike sound ones for a test to be shown
LEAST = 0.35
#: what a minute costs, and what a test at the place itself gains, in shares of vehicles told
A_MINUTE, AT_PLACE = 0.02, 0.1
#: tests shown of one quantity, each at another place; of eyes, nose and hands one
ALIKE = 2
#: tools that are carried, and no state that needs a helper
TOOLS = ("multimeter", "clamp", "eyes", "hands", "thermometer", "load_tester", "hydrometer")


def telling_tests(
    installation: Installation, rules: RuleBase, tables: Tables, hypothesis: Hypothesis, seed: int, most: int
) -> tuple[Telling, ...]:
    """Return the tests that tell a fault from a sound installation most surely.

    Parameters: `hypothesis`, the fault at its place; without a size its rule's whole range is covered; `seed` of the
    vehicles drawn; `most`, how many tests at most.
    Returns: best first; none where no test with the usual tools shows it.
    """
    assert hypothesis.fault is not None
    takes = [take for take in candidates(installation, TOOLS) if take.when != "cranking"]
    shares = dict(_shares(takes, installation, rules, tables, hypothesis, seed))
    near = {hypothesis.fault.part, *points_of(installation.parts[hypothesis.fault.part])}

    def worth(take: Take) -> float:
        minutes = minutes_of(take, rules.tests[take.quantity].minutes, installation, None, frozenset(), (0.0, 0.0))
        here = all(place.partition("@")[0] in near for place in take.where)
        return shares[take] + AT_PLACE * here - A_MINUTE * minutes

    chosen: list[Take] = []
    for take in sorted((take for take in takes if shares[take] >= LEAST), key=worth, reverse=True):
        alike = [other for other in chosen if take.quantity == other.quantity]
        alike_most = 1 if take.quantity in SOUND_WORD else ALIKE
        if len(chosen) < most and len(alike) < alike_most and all(take.where != other.where for other in alike):
            chosen.append(take)
    sound, faulty = (expected_readings(installation, rules, tables, chosen, h, seed) for h in (SOUND, hypothesis))
    return tuple(Telling(a, b, shares[take]) for take, a, b in zip(chosen, sound, faulty, strict=True))


def _shares(
    takes: Sequence[Take], installation: Installation, rules: RuleBase, tables: Tables, hypothesis: Hypothesis,
    seed: int,
) -> Iterator[tuple[Take, float]]:  # fmt: skip
    """Yield each test with the share of faulty vehicles that read unlike sound ones."""
    predictor = Predictor(installation, tables, (SOUND, hypothesis), Streams(seed, VEHICLES))
    solved = [take for take in takes if take.quantity not in SOUND_WORD]
    yield from zip(solved, map(_outside, predictor.predict(solved)), strict=True)
    sights = Sights(rules, installation)
    for take in takes:
        if (word := SOUND_WORD.get(take.quantity)) is not None:
            sound, faulty = (sights.chance(take.quantity, take.where[0], word, h) for h in (SOUND, hypothesis))
            yield take, sound - faulty


def _outside(predicted: Predicted) -> float:
    """Return the share of vehicles with the fault, row 1, that read outside what sound ones, row 0, read."""
    if predicted.words is not None:
        return sum(abs(float(c[0].mean()) - float(c[1].mean())) for c in predicted.words.values()) / 2.0
    margin = 2.0 * float(predicted.noise[0].mean())
    low, high = float(predicted.high[0].min()) - margin, float(predicted.high[0].max()) + margin
    outside = (predicted.high[1] < low) | (predicted.high[1] > high) | (predicted.hunts[1] > predicted.hunts[0])
    return float(outside.mean())

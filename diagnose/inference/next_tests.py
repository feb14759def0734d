"""The tests worth taking next: by information per minute among what the tools allow, with what each suspect would
read.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.candidates import candidates, minutes_after
from diagnose.inference.cautions import for_take
from diagnose.inference.choice import After, Words, bits_of
from diagnose.inference.mixtures import parts_of
from diagnose.inference.posterior import Belief, vehicle_weights
from diagnose.inference.reasons import amount
from diagnose.inference.updating import Updating
from diagnose.inference.visits import Offered, by_worth
from diagnose.model.ranking import NextTest
from diagnose.model.reading import Reading, Take, since_repair
from diagnose.model.rules import RuleBase
from diagnose.prediction.predictor import Predicted
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.table import Choosing

__all__ = ["alive", "next_tests"]

#: suspects that a test is asked to tell apart, and the share of belief that they must hold together
MOST, HELD = 400, 0.998
SHOWN = 5
EXPLAINED = 4
#: bits below which a test is not worth its minutes
LEAST_BITS = 0.01
#: minutes that a test costs beside its own, for the question to be read, its place to be found and the answer to be
#: told (judgement)
HANDLING = 0.6


def alive(belief: Belief) -> NDArray[np.intp]:
    """Return the numbers of the hypotheses that still count: nothing wrong first, then the likeliest."""
    order = np.argsort(-belief.posterior, kind="stable")
    held = np.cumsum(belief.posterior[order]) / max(float(belief.posterior.sum()), 1e-12)
    count = int(np.searchsorted(held, HELD)) + 1
    kept = order[: min(max(count, 2), MOST)]
    return np.concatenate([[0], kept[kept != 0]])


def next_tests(
    table: Choosing,
    rules: RuleBase,
    sights: Sights,
    belief: Belief,
    readings: Sequence[Reading],
    tools: Sequence[str],
    sound: Callable[[Sequence[Take]], Array],
    among: Sequence[Take] | None = None,
) -> tuple[NextTest, ...]:
    """Return the tests that tell most per minute, best first.

    Parameters: `table`, on the first of the vehicles that the belief rests on: fewer are enough to choose by.
    `sound`, what tests read on many vehicles under the first hypothesis, shape (tests, samples).
    `among`: only these are thought of, even if they are expected to tell next to nothing.
    Returns: the tests. One taken before is not asked again, unless something was repaired since.
    Minutes are those of the test's rule, a change of state and access counted.
    """
    predictor, which = table.predictor, alive(belief)
    weights = vehicle_weights(belief)[which][:, : predictor.count] + 1e-9
    weights /= weights.sum(axis=1, keepdims=True)
    share = belief.posterior[which] / belief.posterior[which].sum()
    since = since_repair(readings)
    taken = {r.take for r in readings[since:] if r.take is not None}
    takes = [t for t in (candidates(predictor.installation, tools) if among is None else among) if t not in taken]
    minutes = minutes_after(readings, takes, predictor.installation, rules, predictor.tables)
    places = np.unique(np.array([predictor.hypotheses[n].place for n in which.tolist()]), return_inverse=True)[1]
    parts = parts_of(weights, share, table.levels(which), places)
    words = Words(weights, share, places, sights)
    after = After(_updating(belief, which, predictor.count, readings, since, sound), sound)
    found = bits_of(takes, table, which, parts, words, after, minutes)
    own = [rules.tests[t.quantity].minutes for t in takes]
    offered = [
        Offered(take, found[take], whole, alone)
        for take, whole, alone in zip(takes, minutes, own, strict=True)
        if take in found
    ]
    return tuple(
        _shown(table, rules, sights, one.take, one.bits, one.minutes, which, weights, share)
        for one in by_worth(offered, HANDLING)[:SHOWN]
        if one.bits >= LEAST_BITS or among is not None
    )


def _updating(
    belief: Belief, which: NDArray[np.intp], count: int, readings: Sequence[Reading], since: int,
    sound: Callable[[Sequence[Take]], Array],
) -> Updating:  # fmt: skip
    """Return how the readings since the last repair move predictions."""
    at = [(k, readings[number].take) for k, number in enumerate(belief.evidence.which) if number >= since]
    takes = [take for _, take in at if take is not None]
    return Updating(belief.evidence, belief.fit.wrong, which, count, [k for k, _ in at], sound(takes))


def _shown(
    table: Choosing, rules: RuleBase, sights: Sights, take: Take, bits: float, minutes: float,
    which: NDArray[np.intp], weights: Array, share: Array,
) -> NextTest:  # fmt: skip
    """Describe one test: what the leading suspects would read, why it is asked, what to beware of."""
    lines, predictor = [], table.predictor
    predicted = table.predicted(take, which) if take.quantity not in SOUND_WORD else None
    likely = sorted(range(len(which)), key=lambda r: -share[r])[:EXPLAINED]
    for row in likely:
        number = int(which[row])
        hypothesis = predictor.hypotheses[number]
        if predicted is None:
            word = SOUND_WORD[take.quantity]
            chance = sights.chance(take.quantity, take.where[0], word, hypothesis)
            text = word if chance > 0.5 else f"not {word}"
        else:
            text = _band(take, predicted, row, weights[row])
        lines.append((hypothesis.label, text))
    labels = [predictor.hypotheses[which[row]].label for row in likely[:2]]
    why = f"it tells {labels[0]} from {labels[1]}" if len(labels) > 1 else f"it confirms {labels[0]}"
    return NextTest(
        take,
        minutes,
        bits,
        tuple(lines),
        f"{why} at {bits / minutes:.2f} bits a minute",
        tuple(rules.cautions[c].says for c in for_take(take, predictor.installation, rules)),
    )


def _band(take: Take, predicted: Predicted, row: int, weights: Array) -> str:
    """Return what a suspect would read: its likeliest word, or the middle 80 % of its numbers."""
    if predicted.words is not None:
        return max(predicted.words, key=lambda w: float(weights @ predicted.words[w][row]))  # type: ignore[index]
    values = 0.5 * (predicted.high[row] + predicted.low[row])
    order = np.argsort(values)
    cumulative = np.cumsum(weights[order])
    low, high = (values[order][min(int(np.searchsorted(cumulative, q)), len(order) - 1)] for q in (0.1, 0.9))
    if float(weights @ predicted.hunts[row]) > 0.5:
        ends = [float(weights @ side[row]) for side in (predicted.low, predicted.high)]
        return f"unsteady {amount(take.quantity, min(ends))} to {amount(take.quantity, max(ends))}"
    return f"{amount(take.quantity, float(low))} to {amount(take.quantity, float(high))}"

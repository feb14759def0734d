"""Faults of one installation that no test tells apart, whatever tools there are: they are named together, not guessed.

Two faults are the same to every test where, on vehicles that differ in the size of the fault alone, each size of one
reads within the noise of the instrument what some size of the other reads, and eyes, nose and hands find nearly the
same words. This file judges predictions; it knows nothing of readings taken.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.candidates import ALL_TOOLS, candidates
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams
from diagnose.prediction.table import Choosing

__all__ = ["groups_of", "inseparable", "not_told_apart"]

#: sizes of a fault that are tried, on vehicles that are otherwise in the middle of all that is not known of them
SIZES = 3
#: words whose chances differ by less, in all, do not tell faults apart
SAME_WORDS = 0.25


def inseparable(
    installation: Installation, rules: RuleBase, tables: Tables, tools: Sequence[str] = ALL_TOOLS
) -> tuple[tuple[Hypothesis, ...], ...]:
    """Return the groups of two or more faults that no test tells apart; that nothing is wrong may be one of them.

    Parameters: `tools` at hand, all if not said. It solves the circuit for every fault and test, which takes seconds.
    """
    hypotheses = all_hypotheses(installation, rules)
    predictor = Predictor(installation, tables, hypotheses, Streams(1, SIZES, stretch=0.0))
    takes = candidates(installation, tools)
    alike = _same_numbers([t for t in takes if t.quantity not in SOUND_WORD], predictor)
    sights, on = Sights(rules, installation), [t for t in takes if t.quantity in SOUND_WORD]
    for a, b in np.argwhere(np.triu(alike, 1)).tolist():
        if not _same_sights(hypotheses[a], hypotheses[b], on, sights):
            alike[a, b] = alike[b, a] = False
    return tuple(tuple(hypotheses[n] for n in group) for group in groups_of(alike))


def not_told_apart(
    table: Choosing, takes: Sequence[Take], numbers: Sequence[int], sights: Sights
) -> tuple[int, ...]:
    """Return those hypotheses that no test of a list tells from the first of them.

    Parameters: `takes`, the tests that could still be taken; `numbers` of the hypotheses, the first being compared to.
    """
    rows = np.array(numbers, dtype=np.intp)
    table.fill(rows.tolist())
    left = np.ones(len(rows), dtype=bool)
    for take in takes:
        if take.quantity in SOUND_WORD:
            continue
        one = table.predicted(take, rows)
        if one.words is not None:
            chance = np.stack([c.mean(axis=1) for c in one.words.values()])
            left &= np.abs(chance - chance[:, :1]).sum(axis=0) / 2 < SAME_WORDS
        else:
            noise = np.maximum(np.hypot(one.noise, one.noise[:1]), 1e-9)
            apart = [((v - v[:1]) / noise) ** 2 for v in (one.high, one.low)]
            left &= np.maximum(*(a.mean(axis=1) for a in apart)) < 1.0
    looks = [t for t in takes if t.quantity in SOUND_WORD]
    first = table.predictor.hypotheses[numbers[0]]
    return tuple(
        n
        for n, alike in zip(numbers, left.tolist(), strict=True)
        if n == numbers[0] or (alike and _same_sights(first, table.predictor.hypotheses[n], looks, sights))
    )


def groups_of(alike: NDArray[np.bool_]) -> tuple[tuple[int, ...], ...]:
    """Return numbers that hang together by a symmetric relation, groups of two or more, each from its least.

    >>> groups_of(np.array([[1, 0, 1], [0, 1, 0], [1, 0, 1]], dtype=bool))
    ((0, 2),)
    """
    left, found = set(range(len(alike))), []
    while left:
        group, fresh = set(), [min(left)]
        while fresh:
            one = fresh.pop()
            group.add(one)
            fresh += [n for n in np.flatnonzero(alike[one]).tolist() if n not in group and n not in fresh]
        left -= group
        if len(group) > 1:
            found.append(tuple(sorted(group)))
    return tuple(found)


def _same_numbers(takes: Sequence[Take], predictor: Predictor) -> NDArray[np.bool_]:
    """Return which hypotheses read the same by every meter and lamp, shape (h, h)."""
    rows = len(predictor.hypotheses) * SIZES
    first, second = np.triu_indices(rows, 1)
    for one in predictor.predict(takes):
        columns = [(one.high, one.noise), (one.low, one.noise)] if one.words is None else []
        columns += [(chance, np.full_like(chance, 0.5 * SAME_WORDS)) for chance in (one.words or {}).values()]
        for values, spread in columns:
            same = _within(values.ravel(), spread.ravel(), first, second)
            first, second = first[same], second[same]
    match = np.eye(rows, dtype=bool)
    match[first, second] = match[second, first] = True
    near = np.asarray(match.reshape(-1, SIZES, rows // SIZES, SIZES).any(axis=3))
    covered = np.asarray(near.all(axis=1))
    return np.asarray(covered & covered.T)


def _within(values: Array, spread: Array, first: NDArray[np.intp], second: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return where two rows differ by less than the noise of both."""
    noise = np.maximum(np.hypot(spread[first], spread[second]), 1e-9)
    return np.asarray(np.abs(values[first] - values[second]) < noise)


def _same_sights(one: Hypothesis, other: Hypothesis, takes: Sequence[Take], sights: Sights) -> bool:
    """Return whether eyes, nose and hands find nearly the same with either fault."""
    parts = {h.fault.part for h in (one, other) if h.fault is not None}
    for take in takes:
        if take.where[0].partition("@")[0] in parts:
            words = sights.words(take.quantity)
            chances = [[sights.chance(take.quantity, take.where[0], w, h) for w in words] for h in (one, other)]
            if sum(abs(p - q) for p, q in zip(*chances, strict=True)) / 2 > SAME_WORDS:
                return False
    return True

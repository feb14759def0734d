"""Entries of the ranking: what is thought of each suspect, with reasons, size, likely causes, and what to do.

Belief comes in, records go out; nothing is weighed or chosen here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.causes import LEADING, likely_causes
from diagnose.inference.posterior import Belief
from diagnose.inference.reasons import against_sound, amount, reading_says, weights_of
from diagnose.inference.sizes import size_after
from diagnose.model.causes import LikelyCause
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.ranking import Doubt, Entry, Reason, Size
from diagnose.model.reading import Reading
from diagnose.model.rules import ComplaintRule, RuleBase
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.sights import Sights

__all__ = ["Bench", "Said", "doubts_of", "entries_of", "joined_entry", "pair_entry", "reasons_of"]

#: a reading convicts if it is this much likelier with the fault than on a sound vehicle [dB]
CONVICTING = 10.0
#: belief in a place from which on its part may be convicted; entries that are told of in full
SURE, TOLD = 0.8, 5
UNITS = {"area": "mm2", "capacity": "Ah", "rating": "A"}


class Bench(NamedTuple):
    """What entries are made with; `places` (hypotheses,) numbers the place of each hypothesis."""

    installation: Installation
    rules: RuleBase
    sights: Sights
    predictor: Predictor
    hypotheses: tuple[Hypothesis, ...]
    places: NDArray[np.intp]


class Said(NamedTuple):
    """What people said and read: readings in order, the complaint that their words mean."""

    readings: tuple[Reading, ...]
    complaint: ComplaintRule | None


def entries_of(bench: Bench, belief: Belief, said: Said, held: Array) -> tuple[Entry, ...]:
    """Return an entry for each single fault, likeliest first.

    Parameters: `held` (places,), belief in each place, pairs of faults counted.
    """
    order = [int(n) for n in np.argsort(-belief.posterior, kind="stable") if n]
    weights = weights_of(belief, len(said.readings)).db
    sure = np.flatnonzero(held[bench.places] >= SURE).tolist()
    proved = {n for n in sure if n and (against_sound(belief, n) >= CONVICTING).any()}
    return tuple(
        _entry(bench, n, belief, said, weights[n] if rank < TOLD else None, n in proved)
        for rank, n in enumerate(order)
    )


def _entry(
    bench: Bench, number: int, belief: Belief, said: Said, db: Array | None, convicted: bool
) -> Entry:
    """Return one entry; without `db`, in short."""
    fault, rule = bench.hypotheses[number].fault, bench.hypotheses[number].rule
    assert fault is not None
    assert rule is not None
    before, after = float(belief.prior[number]), float(belief.posterior[number])
    reasons = () if db is None else reasons_of(bench, belief, said.readings, db)
    causes = () if db is None else _causes(bench, fault, said)
    cure = causes[0].remedy if causes and causes[0].probability >= LEADING else rule.remedy
    remedy = cure if convicted else f"not proved yet: first take a reading that settles it ({rule.proof})"
    return Entry(
        fault, rule.name, after, _gain(before, after), None if db is None else _size(bench, number, belief), convicted,
        tuple(r for r in reasons if r.db >= 1.0), tuple(r for r in reasons if r.db <= -1.0), remedy, rule.proof,
        causes=causes,
    )  # fmt: skip


def _gain(before: float, after: float) -> float:
    """Return 10 log10 of the odds after over the odds before."""
    odds = max(after, 1e-12) / max(1.0 - after, 1e-12)
    return float(10.0 * np.log10(odds / (max(before, 1e-12) / max(1.0 - before, 1e-12))))


def _size(bench: Bench, number: int, belief: Belief) -> Size | None:
    rule = bench.hypotheses[number].rule
    if rule is None or rule.size is None:
        return None
    unit = rule.size.unit.partition(" of ")[2] or rule.size.unit
    drawn = bench.predictor.sizes(number)
    return size_after(belief, number, drawn, UNITS.get(unit, unit), rule.size.spread == "log_even")


def _causes(bench: Bench, fault: FaultAt, said: Said) -> tuple[LikelyCause, ...]:
    return likely_causes(fault, bench.installation, bench.rules, bench.sights, said.readings, said.complaint)


def pair_entry(single: Entry, other: FaultAt, before: float, after: float) -> Entry:
    """Return the entry of two faults at once from that of the first.

    Parameters: `before`, `after`, the chance of both, before and after the readings.
    """
    return single._replace(probability=after, evidence_db=_gain(before, after), together=(other,), alternatives=())


def joined_entry(leader: Entry, others: Sequence[Entry], before: float) -> Entry:
    """Return the entry of suspects that no test tells apart, named by the likeliest.

    Parameters: `before`, the chance of them all before the readings.
    """
    whole = leader.probability + sum(entry.probability for entry in others)
    named = tuple(entry.fault for entry in others)
    return leader._replace(probability=whole, evidence_db=_gain(before, whole), alternatives=named)


def reasons_of(bench: Bench, belief: Belief, readings: Sequence[Reading], db: Array) -> tuple[Reason, ...]:
    """Return the reasons of one suspect, weightiest first.

    Parameters: `db` (readings,), decibels of each reading.
    """
    used = sorted({*belief.evidence.which, *belief.evidence.word_which}, key=lambda i: -abs(db[i]))
    return tuple(Reason(i + 1, float(db[i]), reading_says(i, readings, belief, bench.installation)) for i in used)


def doubts_of(bench: Bench, belief: Belief, readings: Sequence[Reading]) -> tuple[Doubt, ...]:
    """Return the readings that are more likely mistaken than not, and what each should have been."""
    evidence, fit = belief.evidence, belief.fit
    found = []
    for column, index in enumerate(evidence.which):
        wrong = float(belief.posterior @ fit.wrong[:, column]) / max(float(belief.posterior.sum()), 1e-9)
        take = readings[index].take
        if wrong > 0.5 and take is not None:
            leader = int(np.argmax(belief.posterior))
            middle, spread = float(fit.expected[leader, column]), 2.0 * float(fit.spread[leader, column])
            band = f"{amount(take.quantity, middle - spread)} to {amount(take.quantity, middle + spread)}"
            says = reading_says(index, readings, belief, bench.installation)
            found.append(Doubt(index + 1, wrong, band, f"{says}; the other readings call for {band}: take it again"))
    return tuple(found)

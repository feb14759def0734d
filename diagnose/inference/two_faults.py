"""A second fault beside the first, and vehicles with faults that are there already.

One fault explains too well: the search for it ends before a second shows. So when a fault leads, it is taken as there
and every other fault is weighed on top of it, on vehicles whose first fault is as large as the readings say.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.basics.lately import kept
from diagnose.circuit.elimination import Array
from diagnose.inference.posterior import Belief, vehicle_weights
from diagnose.inference.prior import UNLISTED_BEFORE
from diagnose.inference.weighing import Period, weigh
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Reading
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.sights import Sights
from diagnose.prediction.solving import Given, sizes_of
from diagnose.prediction.streams import Streams
from diagnose.prediction.table import PredictionTable

__all__ = ["SECOND_BEFORE", "Mended", "Pairs", "TwoFaults", "known"]

#: numbers of the hypotheses that repairs mended, in order, None for a repair that mended none of them
Mended = tuple[int | None, ...]

#: chance of a second fault beside one that is there (no published figure: judgement)
SECOND_BEFORE = 0.05
#: how much more likely a complaint that the first does not explain may make a second fault
MOST_UNEXPLAINED = 5.0
#: vehicles without a fault beside the given one are kept for so many given faults
KEPT = 12
#: sizes of mended faults that are kept
MENDED_KEPT = 16
#: steps of the logarithm of a size to which a given size is rounded, so that a further reading seldom changes it
ROUNDED = 0.5
#: vehicles that pairs are weighed on: with one fault as large as the readings say, fewer are enough
VEHICLES = 24


class Pairs(NamedTuple):
    """One fault, by its number, with every other: the log of the chance of both over that of the first alone
    (hypotheses,), and the belief in what is there beside the first.
    """

    first: int
    log_ratio: Array
    beside: Belief


class TwoFaults:
    """Weighs faults on top of others on the vehicles of one engine."""

    def __init__(
        self, installation: Installation, tables: Tables, streams: Streams, few: PredictionTable, now: Period
    ) -> None:
        """Prepare; `few`, predictions on the vehicles that all hypotheses are weighed on at first; `now`, those with no
        fault beside the hypothesis.
        """
        self._now = now
        self.installation, self.tables, self.hypotheses = installation, tables, few.hypotheses
        self._streams, self._few = streams, few.count
        self._weights = np.array([h.weight for h in few.hypotheses])
        self._periods: dict[tuple[object, ...], Period] = {}
        self._found_sizes: dict[tuple[object, ...], Array] = {}

    def reweighed(self, hypotheses: Sequence[Hypothesis]) -> TwoFaults:
        """Return the same for the same hypotheses with other weights; what was worked out is shared."""
        other = copy.copy(self)
        other._weights = np.array([h.weight for h in hypotheses])
        return other

    def period(self, present: Sequence[int], sizes: Mapping[int, Array], vehicles: int | None = None) -> Period:
        """Return predictions with some faults there, of some sizes by vehicle, on the first of the vehicles or all."""
        vehicles = vehicles or self._streams.count
        given = [Given(self.hypotheses[n], sizes[n][:vehicles]) for n in present]
        key = (vehicles, *((n, tuple(np.round(g.size, 9).tolist())) for n, g in zip(present, given, strict=True)))
        return kept(self._periods, key, KEPT, lambda: self._period(given, vehicles))

    def _period(self, given: Sequence[Given], vehicles: int) -> Period:
        """Return predictions with some faults there, which are worked out as they are asked for."""
        few = self._predictor(given, self.hypotheses, self._few)
        fine = self._predictor(given, self.hypotheses, vehicles) if vehicles > self._few else few
        poor = self._predictor(given, self._now.poor.hypotheses, self._now.poor.count)
        return Period(fine, few, poor, tuple(g.hypothesis for g in given))

    def _predictor(self, given: Sequence[Given], hypotheses: Sequence[Hypothesis], vehicles: int) -> Predictor:
        """Return predictions with some faults there on the first of the vehicles."""
        part = [Given(g.hypothesis, g.size[:vehicles]) for g in given]
        return Predictor(self.installation, self.tables, hypotheses, self._streams.first(vehicles), part)

    def mended_sizes(
        self, prior: Array, readings: Sequence[Reading], mended: Mended, strata: NDArray[np.intp], sights: Sights
    ) -> dict[int, Array]:
        """Return the sizes that mended faults had, by what was read since a fault was mended before: later readings are
        of what is left.
        """
        found: dict[int, Array] = {}
        begun = 0
        ends = [k for k, reading in enumerate(readings) if reading.repaired is not None]
        for number, end in zip(mended, ends, strict=True):
            if number is not None:
                since = readings[begun:end] if end > begun else readings[:end]
                own = tuple(r for r in since if r.repaired is None)
                # What was read before a repair stays as it is: with each further reading it would be weighed anew.
                key = (number, own, prior.tobytes())
                made = partial(self._mended_size, number, prior, own, strata, sights)
                found[number] = kept(self._found_sizes, key, MENDED_KEPT, made)
                begun = end + 1
        return found

    def _mended_size(
        self, number: int, prior: Array, own: Sequence[Reading], strata: NDArray[np.intp], sights: Sights
    ) -> Array:
        """Return the sizes of a fault by vehicle, by readings with nothing mended among them."""
        return self._size(number, weigh(prior, own, [self._now], strata, sights))

    def _size(self, number: int, belief: Belief) -> Array:
        """Return sizes of a fault by vehicle, spread as the belief has it; log-even between its quarter-steps."""
        sizes = sizes_of(self.hypotheses[number], self.installation, self._streams)
        if np.ptp(sizes) == 0.0 or sizes.min() <= 0.0:
            return sizes
        order = np.argsort(sizes)
        held = np.cumsum(vehicle_weights(belief)[number][order])
        logs = np.log(sizes[order])
        low, high = (float(np.interp(q * held[-1], held, logs)) for q in (0.1, 0.9))
        low, high = (np.floor(low / ROUNDED) * ROUNDED, np.ceil(high / ROUNDED) * ROUNDED)
        low, high = max(low, logs[0]), min(high, logs[-1])
        share = self._streams.share(f"given size {self.hypotheses[number].label}")
        return np.asarray(np.exp(low + (high - low) * share))

    def pairs(
        self, first: int, belief: Belief, readings: Sequence[Reading], mended: Mended, strata: NDArray[np.intp],
        sights: Sights,
    ) -> Pairs:  # fmt: skip
        """Return every other fault on top of one that is there now.

        Parameters: `mended`, numbers of the faults mended so far, in order, which were there before.
        """
        prior = self.prior(belief.prior, [first, *known(mended)], SECOND_BEFORE)
        sizes = self.mended_sizes(belief.prior, readings, mended, strata, sights) | {first: self._size(first, belief)}
        there = [dict.fromkeys((first, *known(mended[e:]))) for e in range(len(mended) + 1)]
        periods = [self.period(tuple(one), sizes, VEHICLES) for one in there]
        found = weigh(prior, readings, periods, strata[:, :VEHICLES], sights)
        with np.errstate(divide="ignore"):
            log = np.log(found.prior) + found.fit.log_likelihood
        return Pairs(first, log - log[0], found)

    def prior(self, prior: Array, there: Sequence[int], second: float) -> Array:
        """Return the chances of a further fault beside those that are there, the first being that there is none.

        Either of two faults may bring about the complaint, so that what one explains is no sign of the other, and what
        those that are there do not explain is a sign of another that would.
        """
        weight = self._weights.copy()
        weight[0] = 0.0
        heard = np.divide(prior, weight, out=np.zeros_like(prior), where=weight > 0.0)
        explained = max(float(heard[n]) for n in there)
        share = weight * np.maximum(heard, explained)
        unexplained = min(float(share.sum() / max(weight.sum() * explained, 1e-300)), MOST_UNEXPLAINED)
        places = {self.hypotheses[n].place for n in there}
        share[[k for k, h in enumerate(self.hypotheses) if h.place in places]] = 0.0
        odds = unexplained * second / (1.0 - second)
        prior = (1.0 - UNLISTED_BEFORE) * odds / (1.0 + odds) * share / share.sum()
        prior[0] = (1.0 - UNLISTED_BEFORE) / (1.0 + odds)
        return np.asarray(prior)


def known(mended: Mended) -> tuple[int, ...]:
    """Return the numbers of faults that were mended, each once."""
    return tuple(dict.fromkeys(n for n in mended if n is not None))

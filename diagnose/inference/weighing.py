"""Weighing readings in two grains: all hypotheses on a few vehicles, then those that are left on all.

The readings may have been taken before and after repairs; what was there at each time is told by the caller.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.evidence import Source, gather
from diagnose.inference.poor_joints import slopes_of
from diagnose.inference.posterior import Belief, believe
from diagnose.inference.ruled_out import roughly, still_counting
from diagnose.model.reading import Reading
from diagnose.prediction.grained import Grained
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.predictor import Predicting, Predictor
from diagnose.prediction.sights import Sights

__all__ = ["Period", "weigh"]


class Period(NamedTuple):
    """The time between two repairs: predictions on all vehicles, on a few of them, and of joints that are slightly
    `poor`; and the faults that are there beside the hypothesis.
    """

    fine: Predictor
    few: Predicting
    poor: Predicting
    present: tuple[Hypothesis, ...] = ()


def weigh(
    prior: Array, readings: Sequence[Reading], periods: Sequence[Period], strata: NDArray[np.intp], sights: Sights,
    enough: Callable[[Belief], bool] = lambda rough: False,
) -> Belief:  # fmt: skip
    """Return the belief after the readings.

    Parameters: `prior` (hypotheses,), summing to less than 1, the rest being an unlisted cause; `periods`, one for the
    time before the first repair and one after each; `strata` (hypotheses, vehicles); `enough`, whether a belief on a
    few vehicles will do.
    """
    if not readings:
        return believe(prior, gather((), [Source(periods[0].fine)], sights), strata)
    own = strata[:, : periods[0].few.count]
    rough = roughly(prior, gather(readings, [Source(p.few, p.present) for p in periods], sights), own)
    if enough(rough):
        return rough
    counting = still_counting(rough)
    grained = [Grained(p.fine, p.few, counting) for p in periods]
    sources = [Source(g, p.present) for g, p in zip(grained, periods, strict=True)]
    mixed = np.where(counting[:, None], strata, grained[0].spread(own))
    own_twins = np.arange(strata.shape[1])
    twins = np.where(counting[:, None], own_twins, grained[0].spread(np.arange(own.shape[1])))
    evidence = gather(readings, sources, sights)
    poor = gather(readings, [Source(p.poor, p.present) for p in periods], sights)
    return believe(prior, evidence, mixed, twins, slopes_of(poor.predicted, evidence.noise[0].mean(axis=0)))

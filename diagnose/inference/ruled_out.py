"""Which hypotheses the readings have ruled out beyond doubt, from a few vehicles only.

Few vehicles leave gaps between them, so the spread among those with faults of one class of size is added to the noise
in part. That of all sizes would not do: where a joint is open on some vehicles and sound on others, a sound reading
would seem to fit badly. Measured after three to sixteen readings of random faults, some of them mistaken, a hypothesis
that kept a chance above one in a hundred thousand with all vehicles kept e^-23 with the few, nearly always e^-17.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.bank import SIZES
from diagnose.inference.evidence import Evidence
from diagnose.inference.moments import grouped
from diagnose.inference.posterior import Belief, believe

__all__ = ["roughly", "still_counting"]

#: log of the chance below which a hypothesis is ruled out, and the share of the spread of vehicles added to the noise
HOPELESS, GAPS = -25.0, 0.25


def roughly(prior: Array, few: Evidence, strata: NDArray[np.intp]) -> Belief:
    """Return the belief from a few vehicles, with the gaps between them allowed for.

    Parameters: `prior` (hypotheses,); `few`, the readings on a few vehicles; `strata` of those.
    """
    wider = np.hypot(few.noise, GAPS * _spread(few.predicted, strata % SIZES))
    return believe(prior, few._replace(noise=wider), strata)


def _spread(values: Array, sizes: NDArray[np.intp]) -> Array:
    """Return the spread among the vehicles with faults of one class of size, shape (h, m, n) as `values`."""
    groups = grouped(sizes, np.ones(sizes.shape))
    away = values - groups.sums(values)[groups.member]
    return np.asarray(np.sqrt(groups.sums(away**2))[groups.member])


def still_counting(rough: Belief) -> NDArray[np.bool_]:
    """Return which hypotheses are to be weighed in full after a rough belief; nothing wrong is always among them."""
    counting: NDArray[np.bool_] = np.log(np.maximum(rough.posterior, 1e-300)) > HOPELESS
    counting[0] = True
    return counting

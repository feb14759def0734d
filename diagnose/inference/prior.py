"""What is believed before any reading: how often each fault occurs, and what people said.

No reading is weighed here.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["SOUND_BEFORE", "UNLISTED_BEFORE", "insisted", "prior_of"]

#: chance that nothing is wrong, and that the cause is not in the rule base, before any reading (judgement: about a
#: third of call-outs find nothing wrong; a vehicle whose owner insists is less often sound)
SOUND_BEFORE, UNLISTED_BEFORE = 0.2, 0.02
#: what is left of the chance that nothing is wrong where people insist that something is (judgement)
INSISTENT = 0.1


def prior_of(hypotheses: Sequence[Hypothesis], ratios: Sequence[float] | Array) -> Array:
    """Return the chances of the hypotheses before any reading, the first being that nothing is wrong.

    Parameters: `ratios`, how much likelier the complaint makes each.
    Returns: chances that sum to 1 less that of an unlisted cause.
    """
    weight = np.array([h.weight * r for h, r in zip(hypotheses, ratios, strict=True)])
    share = weight / weight.sum() if weight.sum() > 0 else weight
    prior = (1.0 - SOUND_BEFORE - UNLISTED_BEFORE) * share
    prior[0] = SOUND_BEFORE
    return np.asarray(prior)


def insisted(prior: Array) -> Array:
    """Return the chances before any reading where people insist that it is not right after nothing was found.

    >>> insisted(np.array([0.2, 0.48, 0.30])).round(3).tolist()
    [0.02, 0.591, 0.369]
    """
    found = prior * (prior.sum() - INSISTENT * prior[0]) / (prior.sum() - prior[0])
    found[0] = INSISTENT * prior[0]
    return np.asarray(found)

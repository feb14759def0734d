"""When to stop asking: found, nothing wrong, unlisted, repaired, danger; and not before the leader survives any one
reading's loss.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.posterior import Belief
from diagnose.model.ranking import Entry, Stop
from diagnose.model.reading import Reading
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["stop_of"]

SURE = 0.95
#: what the leader must still have when any one number is left out
SURVIVING = 0.5


def stop_of(
    belief: Belief, entries: Sequence[Entry], readings: Sequence[Reading], danger: Sequence[str],
    hypotheses: Sequence[Hypothesis], tests_left: bool,
) -> Stop | None:  # fmt: skip
    """Return why to stop, or None while more tests pay; `tests_left` tells whether any test is still worth its
    minutes.
    """
    if danger:
        return Stop("danger", "; ".join(danger))
    repairs = [i for i, r in enumerate(readings) if r.repaired is not None]
    after = (
        [r for r in readings[repairs[-1] + 1 :] if r.read is not None and r.read.kind != "skipped"] if repairs else []
    )
    leader = entries[0] if entries else None
    if repairs and after and leader is not None:
        mended = readings[repairs[-1]].repaired
        same = mended is not None and leader.fault.part == mended.part
        if (same and leader.probability > SURE) or belief.posterior[0] > SURE:
            return Stop("repaired", "the readings taken after the repair are those of a sound installation")
    if belief.posterior[0] >= SURE and (_survives(belief, np.arange(len(hypotheses)) == 0) or not tests_left):
        return Stop("no_fault", "the readings are those of a sound installation in this state")
    if leader is not None and leader.convicted and not repairs:
        place = next(h.place for h in hypotheses if h.fault == leader.fault)
        here = np.array([h.place == place for h in hypotheses])
        if float(belief.posterior[here].sum()) >= SURE and (_survives(belief, here) or not tests_left):
            return Stop("found", f"{leader.name} at {leader.fault.part}: repair it, then prove it by a reading")
    if belief.unlisted >= SURE:
        return Stop("unlisted", "no fault of the rule base explains these readings")
    if tests_left or leader is None:
        return None
    if leader.probability >= 0.5:
        return Stop("inseparable", "no test with these tools tells the leading suspects apart any further")
    return Stop("tests_spent", "no test with these tools is worth its minutes any more")


def _survives(belief: Belief, here: Array) -> bool:
    """Return whether the hypotheses of one place, given as a mask, stay ahead together with any one number left out."""
    fit = belief.fit
    if fit.without.shape[1] < 2:
        return fit.without.shape[1] == 0 or bool(belief.posterior[here].sum() > 0.98)
    with np.errstate(divide="ignore"):
        log = np.log(belief.prior)[:, None] + fit.without
    share = np.exp(log - log.max(axis=0))
    share /= share.sum(axis=0)
    return bool((share[here].sum(axis=0) > SURVIVING).all())

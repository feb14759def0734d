"""When to stop asking: found, nothing wrong, unlisted, repaired, danger; and not before the leader survives any one
reading's loss.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.posterior import Belief, without_words
from diagnose.model.ranking import Entry, Stop
from diagnose.model.reading import Reading, since_repair
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["MOST_REPAIRS", "NEARLY", "UPSETTING", "Standing", "stop_of"]

SURE = 0.95
#: belief that is enough where no test could upset it
NEARLY = 0.8
#: what the leader must still have when any one number is left out
SURVIVING = 0.5
#: bits below which no test is taken only to confirm what is nearly sure
UPSETTING = 0.05
#: times that the same is mended at most: where it still shows, something else keeps it so, or it was not mended
MOST_REPAIRS = 2


class Standing(NamedTuple):
    """Where things stand: belief and entries, `places` (hypotheses,) and the belief `held` in each place, pairs
    counted; whether the tests look for a second fault; `bits` that the best test left is expected to tell, 0 for none;
    whether the leader was `seen`, that is, a reading was taken straight at it, or none can be.
    """

    belief: Belief
    entries: Sequence[Entry]
    hypotheses: Sequence[Hypothesis]
    places: NDArray[np.intp]
    held: Array
    looking: bool
    bits: float
    seen: bool = True

    @property
    def tests_left(self) -> bool:
        """Whether any test is left at all."""
        return self.bits > 0.0

    @property
    def can_be_confirmed(self) -> bool:
        """Whether a test could still upset what is nearly sure."""
        return self.bits > UPSETTING


def stop_of(at: Standing, readings: Sequence[Reading], danger: Sequence[str]) -> Stop | None:
    """Return why to stop, or None while more tests pay."""
    if danger:
        return Stop("danger", "; ".join(danger))
    since = since_repair(readings)
    sound = float(at.belief.posterior[0])
    none = np.arange(len(at.hypotheses)) == 0
    if since:
        after = [r for r in readings[since:] if r.read is not None and r.read.kind != "skipped"]
        if sound >= SURE and after and (_survives(at.belief, none) or not at.can_be_confirmed):
            return Stop("repaired", "the readings taken after the repair are those of a sound installation")
    elif (sound >= SURE and _survives(at.belief, none)) or (sound >= NEARLY and not at.can_be_confirmed):
        return Stop("no_fault", "the readings are those of a sound installation in this state")
    leader = at.entries[0] if at.entries else None
    number = 0 if leader is None else next(n for n, h in enumerate(at.hypotheses) if h.fault == leader.fault)
    held = float(at.held[at.places[number]])
    if leader is not None and leader.convicted and at.seen and not (at.looking and at.tests_left):
        here = at.places == at.places[number]
        if (held >= SURE and _survives(at.belief, here)) or (held >= NEARLY and not at.can_be_confirmed):
            return Stop("found", f"{leader.name} at {leader.fault.part}: repair it, then prove it by a reading")
    if at.belief.unlisted >= SURE:
        return Stop("unlisted", "no fault of the rule base explains these readings")
    if at.tests_left or leader is None:
        return None
    if held >= SURE and at.seen:
        return Stop("found", f"{leader.name} at {leader.fault.part}: nothing else is left and no test could tell more")
    if leader.probability >= 0.5:
        return Stop("inseparable", "no test with these tools tells the leading suspects apart any further")
    return Stop("tests_spent", "no test with these tools is worth its minutes any more")


def _survives(belief: Belief, here: Array) -> bool:
    """Return whether the hypotheses of one place, given as a mask, stay ahead with any one reading left out."""
    with np.errstate(divide="ignore"):
        log = np.log(belief.prior)[:, None] + np.concatenate([belief.fit.without, without_words(belief)], axis=1)
    if log.shape[1] < 2:
        return log.shape[1] == 0 or bool(belief.posterior[here].sum() > 0.98)
    share = np.exp(log - log.max(axis=0))
    share /= share.sum(axis=0)
    return bool((share[here].sum(axis=0) > SURVIVING).all())

"""Whether an owner would notice a fault at all: a light, a load, or the current of a battery is not what it would be.

Who calls has noticed something, so a fault too small to be noticed is seldom behind a call. Nothing is chosen here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from diagnose.inference.candidates import candidates, states_of
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery
from diagnose.model.reading import Take
from diagnose.prediction.predictor import Predicting

__all__ = ["noticed", "noticed_by"]

#: share of a battery's current that is missed, with the least current [A], and volts at a load that are missed [V]
SHARE, LEAST, VOLTS = 0.2, 0.5, 0.5
#: change of the chance of a word that is noticed
WORD = 0.3


def noticed_by(installation: Installation) -> tuple[Take, ...]:
    """Return what an owner notices in daily use: lights, loads, and how batteries are charged and hold."""
    seen = [t for t in candidates(installation, ("eyes",)) if t.quantity in ("lamp", "works")]
    batteries = [n for n, p in installation.parts.items() if isinstance(p, Battery)]
    currents = [Take("amps", (name,), state) for state in states_of(installation) for name in batteries]
    loads = [p for p in installation.parts.values() if p.kind == "load"]
    at = [Take("volts", (p.pos, p.neg), s) for p in loads for s in states_of(installation) if "loaded" in s]
    return tuple(dict.fromkeys([*seen, *currents, *at]))


def noticed(installation: Installation, predictor: Predicting) -> NDArray[np.bool_]:
    """Return whether each fault is noticed on each vehicle, shape (hypotheses, vehicles): against the same vehicle
    without it.

    A battery that is worn, empty or shorted is noticed whatever it reads now.
    """
    takes = noticed_by(installation)
    found = np.zeros((len(predictor.hypotheses), predictor.count), dtype=bool)
    for take, one in zip(takes, predictor.predict(takes), strict=True):
        if one.words is not None:
            for chance in one.words.values():
                found |= np.abs(chance - chance[:1]) > WORD
        elif take.quantity == "amps":
            away = np.abs(one.high - one.high[:1])
            found |= (away > np.maximum(SHARE * np.abs(one.high[:1]), LEAST)) | (one.hunts > one.hunts[:1])
        else:
            found |= np.abs(one.high - one.high[:1]) > VOLTS
    for row, hypothesis in enumerate(predictor.hypotheses):
        if hypothesis.fault is None or isinstance(installation.parts[hypothesis.fault.part], Battery):
            found[row] = True
    return found

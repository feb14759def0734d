"""What a complaint says that an owner saw: which vehicles show it, worked out from the circuit.

A vehicle is set beside the same one with nothing wrong, so what charge, set points and temperature do alone is no
symptom. How much oftener a complaint is heard where its symptom shows stands in the rule base.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.circuit.topology import start_batteries
from diagnose.inference.candidates import lamps_of, states_of
from diagnose.inference.complaints import complaint_ratio
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Load
from diagnose.model.reading import Take
from diagnose.model.rules import ComplaintRule, Symptom
from diagnose.prediction.predictor import Predicted, Predicting

__all__ = ["Heard", "shown", "symptom_ratios"]

#: least current [A] that is missed when it fails to come
LEAST = 1.0
#: chance of a lamp being lit from which on it is missed
LIT = 0.5
Flags = NDArray[np.bool_]


class Showing(Protocol):
    """Whatever can say what tests would read, the first row with nothing wrong."""

    def predict(self, takes: Sequence[Take]) -> list[Predicted]: ...


class _Lost(NamedTuple):
    """What share is lost (h, m), and whether there was anything to lose on the sound vehicle (m,)."""

    share: Array
    known: Flags


def symptom_ratios(complaint: ComplaintRule | None, installation: Installation, predictor: Showing) -> Array | None:
    """Return how much oftener a complaint is heard of each vehicle for what shows on it, shape (hypotheses, vehicles).

    Parameters: `complaint`, None where none was understood; `predictor`, whose first row has nothing wrong.
    Returns: ratios, 1 for the first row, since what else brings its owner is not worked out here; None where the
    complaint tells of no symptom that can show on the installation.
    """
    found: Array | None = None
    for symptom in complaint.shows if complaint is not None else ():
        seen, known = shown(symptom, installation, predictor)
        if known.any():
            ratio = np.where(seen, symptom.ratio, np.where(known, symptom.otherwise, 1.0))
            found = ratio if found is None else found * ratio
    if found is not None:
        found[0] = 1.0
    return found


class Heard:
    """How much oftener a complaint is heard with each hypothesis, worked out once for each complaint."""

    def __init__(self, installation: Installation, predictor: Predicting) -> None:
        """Prepare; `predictor`, whose first hypothesis is that nothing is wrong."""
        self._installation, self._predictor = installation, predictor
        self._known: dict[str, Array] = {}

    def ratios(self, complaint: ComplaintRule | None) -> Array:
        """Return the ratios (hypotheses,), for what a fault is and for how many of its vehicles show what was seen."""
        name = complaint.id if complaint is not None else ""
        if name not in self._known:
            shows = symptom_ratios(complaint, self._installation, self._predictor)
            of = self._predictor.hypotheses
            favours = np.array([complaint_ratio(complaint, h, self._installation) for h in of])
            self._known[name] = favours if shows is None else favours * shows.mean(axis=1)
        return self._known[name]


def shown(symptom: Symptom, installation: Installation, predictor: Showing) -> tuple[Flags, Flags]:
    """Return which vehicles show a symptom in one of its states, shape (hypotheses, vehicles), and on which of them it
    could show, (vehicles,).
    """
    seen: Flags = np.zeros((1, 1), dtype=bool)
    known: Flags = np.zeros(1, dtype=bool)
    for lost in _each_state(symptom, installation, predictor):
        share = np.clip(lost.share, -1.0, 1.0)
        here = lost.known & (share >= symptom.lost[0]) & (share <= symptom.lost[1])
        seen, known = seen | here, known | lost.known
    return seen, known


def _each_state(symptom: Symptom, installation: Installation, predictor: Showing) -> Iterator[_Lost]:
    for state in symptom.when:
        takes = _TAKES[symptom.of](installation, state) if state in states_of(installation) else ()
        if takes:
            yield _LOST[symptom.of](predictor.predict(takes))


def _batteries(installation: Installation, state: str) -> tuple[Take, ...]:
    """Return the currents of the batteries that the charger is there for."""
    starters = start_batteries(installation)
    found = [n for n, p in installation.parts.items() if isinstance(p, Battery) and n not in starters]
    return tuple(Take("amps", (name,), state) for name in found)


def _lamps(installation: Installation, state: str) -> tuple[Take, ...]:
    return tuple(Take("lamp", (name,), state) for name in lamps_of(installation).values())


def _loads(installation: Installation, state: str) -> tuple[Take, ...]:
    loads = (p for p in installation.parts.values() if isinstance(p, Load))
    return tuple(Take("volts", (p.pos, p.neg), state) for p in loads)


def _middle(one: Predicted) -> Array:
    return np.asarray(one.high + 0.5 * one.hunts * (one.low - one.high))


def _charge_lost(read: Sequence[Predicted]) -> _Lost:
    amps = np.sum([_middle(one) for one in read], axis=0)
    return _Lost(1.0 - amps / np.maximum(amps[:1], LEAST), amps[0] > LEAST)


def _light_lost(read: Sequence[Predicted]) -> _Lost:
    lit = np.max([(one.words or {})["on"] for one in read], axis=0)
    return _Lost(1.0 - lit / np.maximum(lit[:1], LIT), lit[0] > LIT)


def _volts_lost(read: Sequence[Predicted]) -> _Lost:
    """Return what is lost at the load that loses most."""
    volts = np.stack([_middle(one) for one in read])
    share = 1.0 - volts / np.maximum(volts[:, :1], 1.0)
    return _Lost(share.max(axis=0), np.asarray((volts[:, 0] > 1.0).any(axis=0)))


def _calm_lost(read: Sequence[Predicted]) -> _Lost:
    hunts = np.max([one.hunts for one in read], axis=0)
    return _Lost(hunts - hunts[:1], hunts[0] < LIT)


_TAKES: dict[str, Callable[[Installation, str], tuple[Take, ...]]] = {
    "charge": _batteries, "light": _lamps, "volts": _loads, "calm": _lamps,
}  # fmt: skip
_LOST: dict[str, Callable[[Sequence[Predicted]], _Lost]] = {
    "charge": _charge_lost, "light": _light_lost, "volts": _volts_lost, "calm": _calm_lost,
}  # fmt: skip

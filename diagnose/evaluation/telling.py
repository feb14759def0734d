"""Whether a fault can be noticed at all on a vehicle: some permitted reading leaves the healthy band, or what the owner
sees changes.

The band is that of 95 % of sound vehicles of the description. It knows no engine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.prediction.expected import shown_once
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.streams import Streams
from diagnose.simulation.vehicle import SimulatedVehicle

__all__ = ["HealthyBands", "tells", "usual_words"]

VEHICLES = 300
BAND = (0.025, 0.975)
#: how far beyond the band a reading must lie [standard deviations of its noise], so that digits alone do not count
BEYOND = 2.0
#: what the words that sound parts usually show have to make up together, likeliest first
USUAL = 0.95


class HealthyBands:
    """The bands of one installation; each is worked out when it is first asked for."""

    def __init__(self, installation: Installation, tables: Tables, seed: int) -> None:
        """Prepare; nothing is solved yet."""
        self._tables, self._streams = tables, Streams(seed, VEHICLES)
        self._predictor = Predictor(installation, tables, (SOUND,), self._streams)
        self._known: dict[Take, tuple[float, float]] = {}

    def band(self, take: Take) -> tuple[float, float]:
        """Return the ends of the band of a test that is read as a number, in the unit in which it is compared."""
        if take not in self._known:
            predicted = self._predictor.predict([take])[0]
            values, _ = shown_once(take, predicted, self._tables, self._streams)
            low, high = np.quantile(values, BAND)
            self._known[take] = (float(low), float(high))
        return self._known[take]


def usual_words(chances: Mapping[str, float]) -> frozenset[str]:
    """Return the fewest words that make up 95 % of what is read: the healthy band of a test read as words.

    >>> sorted(usual_words({"good": 0.90, "corroded": 0.06, "burnt": 0.04}))
    ['corroded', 'good']
    """
    total, found = 0.0, []
    for word, chance in sorted(chances.items(), key=lambda each: -each[1]):
        if total >= USUAL * sum(chances.values()):
            break
        total += chance
        found.append(word)
    return frozenset(found)


def tells(
    vehicle: SimulatedVehicle, twin: SimulatedVehicle, takes: Sequence[Take], bands: HealthyBands
) -> Take | None:
    """Return the first test that shows a fault: out of the ordinary on the vehicle, and not so on its twin.

    Parameters: `twin`, the same vehicle without the fault in question; `takes`, the permitted tests.
    """
    for take in takes:
        words = vehicle.words(take)
        if words is not None:
            found = vehicle.truly(take).word or ""
            usual = twin.words(take) or {}
            likelier = words[found] > usual.get(found, 0.0) and twin.truly(take).word != found
            if likelier and found not in usual_words(usual):
                return take
            continue
        low, high = bands.band(take)
        ours, theirs = vehicle.shown(take), twin.shown(take)
        margin = BEYOND * ours.noise
        for one, other in ((ours.high, theirs.high), (ours.low, theirs.low)):
            if not low - margin <= one <= high + margin and low <= other <= high:
                return take
    return None

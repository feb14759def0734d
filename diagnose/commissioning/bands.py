"""What this installation should read on each step: the 95 % band, and the wider band of the whole sequence.

Both come from vehicles drawn as the description allows, all steps on the same vehicles, so that a drop is held against
the current that flows with it. The far tail is fitted, since no number of vehicles reaches it.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.commissioning.sequence import Planned
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.expected import shown_once
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.instruments import OVER_RANGE, called_unsteady
from diagnose.prediction.predictor import Predicted, Predictor, by_condition
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams

__all__ = ["FEWEST", "Band", "Model", "band_of", "current_take", "family_z"]

Array = NDArray[np.float64]
VEHICLES = 1500
#: vehicles that a band needs at least when only some of them are like this one
FEWEST = 60
_OUTER = 1.959964  # standard deviations that hold 95 %


class Band(NamedTuple):
    """Bounds of a value: `low` to `high` hold 95 % of sound installations, `least` to `most` belong to the sequence."""

    low: float
    middle: float
    high: float
    least: float
    most: float


def family_z(steps: int) -> float:
    """Return how many standard deviations hold 95 % of whole sequences of so many steps.

    Source: Sidak's inequality for independent tests: each step at 1 - 0.95**(1/steps).

    >>> round(family_z(1), 2), round(family_z(50), 2)
    (1.96, 3.28)
    """
    alone = 1.0 - 0.95 ** (1.0 / max(steps, 1))
    return NormalDist().inv_cdf(1.0 - alone / 2.0)


def band_of(values: Array, z: float) -> Band:
    """Return the band of values: quantiles, and a tail as a normal one has on either side of the median.

    Parameters: `values`, shape (vehicles,); `z`, standard deviations of the wider band. Positive values that spread
    over more than a factor of 1.3 are taken by their logarithm, as joints spread. The wider band never lies inside the
    values drawn.

    >>> band = band_of(np.random.default_rng(1).normal(10.0, 1.0, 4000), 3.28)
    >>> [round(float(b)) for b in band]
    [8, 10, 12, 6, 14]
    """
    low, middle, high = np.quantile(values, [0.025, 0.5, 0.975])
    if low > 0 and high > 1.3 * low:
        outer = np.log([low, middle, high])
        least, most = np.exp(_tails(outer[0], outer[1], outer[2], z))
    else:
        least, most = _tails(low, middle, high, z)
    ends = float(values.min()), float(values.max())
    return Band(float(low), float(middle), float(high), min(float(least), ends[0]), max(float(most), ends[1]))


def _tails(low: float, middle: float, high: float, z: float) -> tuple[float, float]:
    return middle - (middle - low) * z / _OUTER, middle + (high - middle) * z / _OUTER


class Model:
    """The sound vehicles of an installation, read on every step; what is worked out for one state is kept."""

    def __init__(
        self, installation: Installation, tables: Tables, rules: RuleBase, planned: Sequence[Planned], seed: int = 1,
        vehicles: int = VEHICLES,
    ) -> None:  # fmt: skip
        """Prepare; nothing is solved before a band is asked for."""
        self.tables, self.z = tables, family_z(sum(p.rule.judge != "word" for p in planned))
        self._streams = Streams(seed, vehicles)
        self._predictor = Predictor(installation, tables, (SOUND,), self._streams)
        self._sights = Sights(rules, installation)
        takes = [p.step.take for p in planned if p.step.take is not None]
        drops = [p for p in planned if p.rule.judge == "drop" and p.step.take is not None]
        takes += [current_take(p) for p in drops]
        self._together = by_condition([t for t in dict.fromkeys(takes) if t.quantity not in SOUND_WORD])
        self._known: dict[Take, Predicted] = {}

    def _predicted(self, take: Take) -> Predicted:
        """Return what a test reads on every vehicle; all tests of a state are worked out at once, and kept."""
        if take not in self._known:
            fitted, wanted = next(((f, w) for f, w in self._together.items() if take in w), (None, [take]))
            self._known.update(zip(wanted, self._predictor.predict(wanted), strict=True))
            if fitted is not None:
                self._predictor.forget(fitted)
        return self._known[take]

    def values(self, take: Take) -> Array:
        """Return what every vehicle would show, shape (vehicles,); ohms as their logarithm."""
        return np.asarray(shown_once(take, self._predicted(take), self.tables, self._streams)[0])

    def plain(self, take: Take) -> Array:
        """Return what every vehicle would show before the last digits wander, shape (vehicles,)."""
        return np.asarray(self._predicted(take).high[0])

    def band(self, take: Take) -> Band | None:
        """Return the band of a number; None where it is a word."""
        if take.quantity in SOUND_WORD or take.quantity in ("lamp", "works"):
            return None
        return band_of(self.values(take), self.z)

    def ratio(self, volts: Take, amps: Take) -> Band | None:
        """Return the band of a resistance [ohm]: drop over current on the same vehicle, where enough of it flows.

        The places of the drop stand in the direction of the current, so the current's own sign is left out.
        """
        drop, current = self.plain(volts), self.plain(amps)
        enough = np.abs(current) >= 0.3 * np.quantile(np.abs(current), 0.975)
        return band_of(drop[enough] / np.abs(current[enough]), self.z) if enough.sum() >= FEWEST else None

    def share(self, part: Take, other: Take) -> Band | None:
        """Return the band of one current over another; None where the other does not flow."""
        one, base = self.plain(part), self.plain(other)
        enough = np.abs(base) >= 0.3 * np.quantile(np.abs(base), 0.975)
        if enough.sum() < FEWEST or np.quantile(np.abs(base), 0.975) < 1.0:
            return None
        return band_of(one[enough] / base[enough], self.z)

    def full_current(self, amps: Take) -> float:
        """Return the current [A] that flows at full rating: what one vehicle in forty exceeds."""
        return float(np.quantile(np.abs(self.plain(amps)), 0.975))

    def unsteady(self, take: Take) -> float:
        """Return the chance that a sound vehicle is called unsteady here."""
        jump = shown_once(take, self._predicted(take), self.tables, self._streams)[1]
        return float(called_unsteady(jump).mean())

    def over_range(self, take: Take) -> float:
        """Return the chance that a sound vehicle shows OL on an ohms step."""
        return float((self.values(take) > OVER_RANGE - 0.5).mean())

    def chances(self, take: Take) -> dict[str, float]:
        """Return the chance of each word on a sound vehicle."""
        if take.quantity in SOUND_WORD:
            words = self._sights.words(take.quantity, take.where[0])
            return {word: self._sights.chance(take.quantity, take.where[0], word, SOUND) for word in words}
        return {w: float(c.mean()) for w, c in (self._predicted(take).words or {}).items()}


def current_take(planned: Planned) -> Take:
    """Return the current that a drop is judged at: that of the part itself."""
    assert planned.step.take is not None
    return Take("amps", (planned.subject["part"],), planned.step.take.when)

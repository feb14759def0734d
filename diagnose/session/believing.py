"""Whether any suspect explains a reading, and which slip would make one do so.

A slip is named, never assumed: whoever reads the meter decides. No evidence is weighed here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from diagnose.inference.evidence import number_of
from diagnose.model.reading import Read, Reading, Take
from diagnose.prediction.predictor import Predicted, Predictor

__all__ = ["SLIPS", "Explained", "compared", "explains", "slips_of"]

#: what may have gone wrong with a reading -> when it is thought of
SLIPS: dict[str, str] = {
    "decimal": "ten, a hundred or a thousand times out",
    "sign": "the same value with the other sign is explained",
    "paint": "volts where the probe may not touch metal",
    "socket": "volts near zero where a source was expected",
    "clamp_zero": "a small current that nothing explains",
    "both_wires": "a current near zero where one was expected",
    "no_current": "a drop near zero",
    "idle": "volts that fit an idling engine",
    "leads": "ohms, the leads not touched together first",
}
#: how far from any prediction a reading may be and still be explained, in the unit in which it is compared
SLACK = {"volts": 0.25, "amps": 2.0, "ohms": 0.6, "celsius": 12.0, "ripple": 0.3, "load_test": 0.6, "gravity": 0.06}
#: share of the prior belief, over all that is wrong and not wrong, below which nothing explains a reading
LEAST = 3e-4


class Explained(NamedTuple):
    """How much of what was believed beforehand explains a value."""

    predictor: Predictor

    def share(self, take: Take, value: float) -> float:
        """Return the share [0 to 1] of hypotheses, by their weight, and vehicles that would read about this value."""
        return self._held(take, value, range(len(self.predictor.hypotheses)))

    def enough(self, take: Take, value: float) -> bool:
        """Return whether enough of what was believed beforehand would read about this value."""
        # A sound vehicle alone is often enough, and is solved a hundred times faster than all that may be wrong.
        return self._held(take, value, range(1)) >= 2.0 * LEAST or self.share(take, value) >= LEAST

    def _held(self, take: Take, value: float, numbers: range) -> float:
        """Return the share that some of the hypotheses have in it."""
        near = _near(take, value, self.predictor.predict([take], numbers)[0])
        weights = [hypothesis.weight for hypothesis in self.predictor.hypotheses]
        sound = 0.3 * sum(weights)
        total = sum(weights) + sound
        return sum((weights[k] or sound) * n for k, n in zip(numbers, near, strict=True)) / total


def _near(take: Take, value: float, predicted: Predicted) -> list[float]:
    """Return, for each hypothesis, the share of its vehicles that read about a value."""
    slack = SLACK[take.quantity]
    low, high = predicted.low, predicted.high
    if take.quantity == "amps":
        slack = slack + 0.1 * abs(value)
    reach = 4.0 * predicted.noise + slack
    under = (low - reach <= value) | (high - reach <= value)
    over = (low + reach >= value) | (high + reach >= value)
    shares: list[float] = (under & over).mean(axis=1).tolist()
    return shares


def explains(explained: Explained, take: Take, read: Read) -> bool:
    """Return whether anything explains a reading; words are always explained."""
    value = compared(take, read)
    return value is None or explained.enough(take, value)


def compared(take: Take, read: Read) -> float | None:
    """Return a number as it is compared (ohms by their logarithm), None for what is no plain number."""
    if take.quantity not in SLACK or read.kind != "number" or read.value is None:
        return None
    return number_of(Reading(take, read))


def slips_of(explained: Explained, take: Take, read: Read) -> tuple[str, ...]:
    """Return the likely slips behind a reading that nothing explains, the likeliest first; at most three."""
    return tuple(dict.fromkeys(_slips(explained, take, read)))[:3]


def _slips(explained: Explained, take: Take, read: Read) -> Iterator[str]:
    value = read.value or 0.0
    if take.quantity != "ohms" and value and explained.share(take, -value) > 0.05:
        yield "sign"
    for factor in (10.0, 0.1, 1000.0, 0.001, 100.0, 0.01):
        moved = math.log10(max(value * factor, 0.05)) if take.quantity == "ohms" else value * factor
        if abs(value) > 1e-9 and abs(value * factor) > SLACK[take.quantity] and explained.share(take, moved) > 0.05:
            yield "decimal"
    if take.quantity == "volts":
        if abs(value) < 1.0:
            yield from ("socket", "paint")
        elif take.when.startswith("engine") and 11.5 < value < 13.0 and explained.share(take, 13.8) > 0.05:
            yield "idle"
        yield "paint"
    elif take.quantity == "amps":
        yield from ("clamp_zero", "both_wires") if abs(value) < 4.0 else ("both_wires", "clamp_zero")
    elif take.quantity == "ohms":
        yield "leads"
    yield "decimal"

"""A simulated vehicle: one draw of all that is not known, hidden faults, and a meter that answers as a real one does.

It is made by the same circuit as the predictions, on draws of its own; what the engine is not told can be made to lie
outside the tables (`stretch`). It keeps no score and knows no engine.
"""

from __future__ import annotations

import zlib

import numpy as np

from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.instruments import OVER_RANGE, resolution
from diagnose.prediction.predictor import Predicted, Predictor
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams

__all__ = ["SimulatedVehicle"]

#: jump [V or A] at which half the people call a reading unsteady
JUMP = 0.15


class SimulatedVehicle:
    """One vehicle that answers tests; the same test gives the same answer each time."""

    def __init__(
        self,
        installation: Installation,
        rules: RuleBase,
        tables: Tables,
        hidden: Hypothesis,
        seed: int,
        stretch: float = 1.0,
    ) -> None:
        """Draw a vehicle with a hidden fault (or none)."""
        self.installation, self.tables, self.hidden, self.seed = installation, tables, hidden, seed
        self._sights = Sights(rules)
        self._predictor = Predictor(installation, tables, (hidden,), Streams(seed, 1, stretch))

    def _chance(self, take: Take) -> np.random.Generator:
        return np.random.Generator(np.random.PCG64([self.seed, zlib.crc32(repr(take).encode())]))

    def answer(self, take: Take) -> Read:
        """Return what a person would read."""
        chance = self._chance(take)
        if take.quantity in SOUND_WORD:
            words = self._sights.words(take.quantity)
            weights = np.array([self._sights.chance(take.quantity, take.where[0], w, self.hidden) for w in words])
            return _word(str(chance.choice(words, p=weights / weights.sum())))
        predicted = self._predictor.predict([take])[0]
        if predicted.words is not None and take.meter != "test_lamp":
            names = list(predicted.words)
            weights = np.array([predicted.words[w][0, 0] for w in names])
            return _word(str(chance.choice(names, p=weights / weights.sum())))
        return self._number(take, predicted, chance)

    def _number(self, take: Take, predicted: Predicted, chance: np.random.Generator) -> Read:
        high, low, hunts, noise = (
            float(a[0, 0]) for a in (predicted.high, predicted.low, predicted.hunts, predicted.noise)
        )
        jump = abs(high - low) if hunts else 0.0
        if take.quantity in ("volts", "amps") and chance.random() < jump**2 / (jump**2 + JUMP**2):
            low, high = sorted((low, high))
            return Read("unsteady", f"unsteady {low:.2f} to {high:.2f}", low, high)
        value = high + hunts * chance.random() * (low - high) + np.sqrt(3.0) * noise * (2.0 * chance.random() - 1.0)
        if take.quantity == "ohms":
            if value > OVER_RANGE - 0.5:
                return Read("over_range", "OL")
            return Read("number", f"{10.0**value:.1f} ohm", round(10.0**value, 1))
        if take.quantity == "volts":
            step = float(resolution(np.array([value]), self.tables.number("meters", "counts"))[0])
            value = round(value / step) * step
        return Read("number", f"{value:.4g}", float(f"{value:.6g}"))


def _word(word: str) -> Read:
    return Read("word", word, word=word)

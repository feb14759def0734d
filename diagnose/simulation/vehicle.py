"""A simulated vehicle: one draw of all that is not known, hidden faults, and a meter that answers as a real one does.

It is made by the same laws as the predictions, on draws of its own; what the engine is not told can be made to lie
outside the tables (`mismatch`), and a person may misread (`wrong`). It keeps no score and knows no engine.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.prediction.instruments import OVER_RANGE, as_shown, called_unsteady, noise, resolution
from diagnose.prediction.predictor import by_condition
from diagnose.prediction.readers import read_true
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams
from diagnose.simulation.circuit import HiddenCircuit
from diagnose.simulation.mismatch import AS_TOLD, Mismatch, shifted_reading
from diagnose.simulation.mistakes import elsewhere, misplaced_point, wrong_word

__all__ = ["Shown", "SimulatedVehicle"]

#: share of mistaken readings taken at the wrong place; the others have a decimal point in the wrong place
WRONG_PLACE = 0.5


class Shown(NamedTuple):
    """What one test shows before the last digits: as in `prediction.predictor.Predicted`, of one vehicle."""

    high: float
    low: float
    hunts: bool
    noise: float
    words: dict[str, float] | None


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
        *,
        also: Sequence[Hypothesis] = (),
        wrong: float = 0.0,
        mismatch: Mismatch = AS_TOLD,
        renewed: frozenset[tuple[str, str | None]] = frozenset(),
    ) -> None:
        """Draw a vehicle with a hidden fault (or none).

        Parameters: `also`, further faults; `wrong`, chance that a reading is mistaken; `mismatch`, what the tables do
        not tell of it; `stretch`, that of the mismatch if nothing else of it is wanted; `renewed`, parts and ends that
        were mended, where nothing is odd to see or feel any more.
        """
        self.installation, self.rules, self.tables, self.seed = installation, rules, tables, seed
        self.hidden = hidden
        self.faults = tuple(h for h in (hidden, *also) if h.fault is not None)
        self.wrong, self._renewed = wrong, renewed
        self._mismatch = mismatch if mismatch != AS_TOLD else mismatch._replace(stretch=stretch)
        self._sights = Sights(rules, installation)
        self._streams = Streams(seed, 1, self._mismatch.stretch)
        self._circuit = HiddenCircuit(installation, tables, self.faults, self._streams, self._mismatch)
        self._shown: dict[Take, Shown] = {}

    def mended(self, fault: FaultAt) -> SimulatedVehicle:
        """Return the same vehicle after a repair at the place of a fault: whatever is faulty there is gone."""
        left = [h for h in self.faults if h.fault is None or h.fault.place != fault.place]
        first, also = (left[0], left[1:]) if left else (SOUND, [])
        return SimulatedVehicle(
            self.installation, self.rules, self.tables, first, self.seed, also=also, wrong=self.wrong,
            mismatch=self._mismatch, renewed=self._renewed | {fault.place},
        )  # fmt: skip

    def _chance(self, take: Take, what: str = "") -> np.random.Generator:
        return np.random.Generator(np.random.PCG64([self.seed, zlib.crc32((repr(take) + what).encode())]))

    def answer(self, take: Take) -> Read:
        """Return what a person would read, mistaken now and then."""
        mistake = self._chance(take, "mistake")
        if mistake.random() >= self.wrong:
            return self.truly(take)
        words = self.words(take)
        if words is not None:
            return wrong_word(self.truly(take), tuple(words), mistake)
        if mistake.random() < WRONG_PLACE:
            other = self.truly(elsewhere(take, self.installation, mistake))
            if other != self.truly(take):
                return other
        return misplaced_point(self.truly(take), mistake)

    def told(self, take: Take) -> Read:
        """Return what a person would write down: a state in which the circuit has no solution cannot be read."""
        try:
            return self.answer(take)
        except RuntimeError:
            return Read("skipped", "skipped")

    def truly(self, take: Take) -> Read:
        """Return what a person would read who makes no mistake."""
        chance = self._chance(take)
        words = self.words(take)
        if words is not None:
            weights = np.array(list(words.values()))
            word = str(chance.choice(list(words), p=weights / weights.sum()))
            return Read("word", word, word=word)
        return self._number(take, self.shown(take), chance)

    def words(self, take: Take) -> dict[str, float] | None:
        """Return the chance of each word that may be read, or None where a number is read: a lamp shows no volts."""
        if take.quantity in SOUND_WORD:
            part, _, end = take.where[0].partition("@")
            suspect = self._seen_at(take.where[0])
            names = self._sights.words(take.quantity)[:1] + self._words_of(take)
            if (part, end or None) in self._renewed:
                return {word: float(word == SOUND_WORD[take.quantity]) for word in names}
            return {word: self._sights.chance(take.quantity, take.where[0], word, suspect) for word in names}
        return self.shown(take).words

    def shown(self, take: Take) -> Shown:
        """Return what the instrument shows before its last digits wander."""
        if take not in self._shown:
            scene = self._circuit.scene(next(iter(by_condition([take]))))
            true = read_true(take, scene)
            high, low = (as_shown(take.quantity, a, self.tables, self._streams) for a in (true.high, true.low))
            high, low = (
                np.array([shifted_reading(take.quantity, float(a[0]), self._mismatch, self._streams)])
                for a in (high, low)
            )
            words = None if true.words is None else {word: float(c[0]) for word, c in true.words.items()}
            spread = float(noise(take.quantity, high, self.tables)[0])
            self._shown[take] = Shown(float(high[0]), float(low[0]), bool(true.hunts[0]), spread, words)
        return self._shown[take]

    def _words_of(self, take: Take) -> list[str]:
        """Return what can be found at such a part besides nothing: a cable neither swells nor turns round."""
        kind = self.installation.parts[take.where[0].partition("@")[0]].kind
        rules = [r for r in self.rules.faults.values() if any(kind in place.kinds for place in r.sits_at)]
        found = {s.word for r in rules for s in r.sights if s.quantity == take.quantity}
        return sorted(found - {SOUND_WORD[take.quantity]})

    def _seen_at(self, place: str) -> Hypothesis:
        """Return the fault that a look at a place may find: the one at that very place before one of the same part."""
        part, _, end = place.partition("@")
        here = [h for h in self.faults if h.fault is not None and h.fault.part == part]
        exact = [h for h in here if h.fault is not None and (h.fault.at or "") == end]
        return (exact or here or [SOUND])[0]

    def _number(self, take: Take, shown: Shown, chance: np.random.Generator) -> Read:
        high, low, hunts = shown.high, shown.low, float(shown.hunts)
        jump = abs(high - low) if hunts else 0.0
        if take.quantity in ("volts", "amps") and chance.random() < float(called_unsteady(np.array(jump))):
            low, high = sorted((low, high))
            return Read("unsteady", f"unsteady {low:.2f} to {high:.2f}", low, high)
        value = high + hunts * chance.random() * (low - high) + np.sqrt(3.0) * shown.noise * (2 * chance.random() - 1)
        if take.quantity == "ohms":
            if value > OVER_RANGE - 0.5:
                return Read("over_range", "OL")
            return Read("number", f"{10.0**value:.1f} ohm", round(10.0**value, 1))
        if take.quantity == "volts":
            step = float(resolution(np.array([value]), self.tables.number("meters", "counts"))[0])
            value = round(value / step) * step
        return Read("number", f"{value:.4g}", float(f"{value:.6g}"))

"""How often eyes, nose and hands find what, with a fault and on a sound part: from the rules, not from the circuit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["SOUND_WORD", "Sights"]

#: the word that means nothing was found, by quantity
SOUND_WORD = {"look": "good", "smell": "none", "tug": "good", "wiggle": "steady"}
#: chance of a word that no rule speaks of: a slip, or something else that happens to be wrong
STRAY = 0.004


class Sights:
    """Chances of what is seen, smelled and felt, worked out once for a rule base."""

    def __init__(self, rules: RuleBase) -> None:
        """Collect what the rules say; a word on a sound part has the largest chance that any rule gives it."""
        self._sound: dict[str, dict[str, float]] = {quantity: {} for quantity in SOUND_WORD}
        for rule in rules.faults.values():
            for sight in rule.sights:
                known = self._sound[sight.quantity]
                known[sight.word] = max(known.get(sight.word, 0.0), sight.sound)
        self._made: dict[tuple[str, str, str], dict[str, float]] = {}

    def words(self, quantity: str) -> list[str]:
        """Return the words of a quantity, the one that means nothing was found first."""
        sound = SOUND_WORD[quantity]
        return [sound, *sorted(set(self._sound[quantity]) - {sound})]

    def chance(self, quantity: str, place: str, word: str, hypothesis: Hypothesis) -> float:
        """Return the chance of a word under a hypothesis.

        Parameters: `quantity`, look, smell, tug or wiggle; `place`, a part or PART@POINT; `word`, one of the readings
        form.
        Returns: a chance above 0 and below 1; over all words of the quantity it sums to 1.
        """
        reach = _reach(place, hypothesis)
        key = (quantity, reach, hypothesis.rule.id if hypothesis.rule is not None and reach else "")
        if key not in self._made:
            self._made[key] = self._chances(quantity, reach, hypothesis)
        return self._made[key].get(word, STRAY)

    def table(
        self, quantity: str, place: str, hypotheses: Sequence[Hypothesis], on: Mapping[str, Sequence[int]]
    ) -> Array:
        """Return the chances of all words of a quantity at a place, shape (hypotheses, words).

        Parameters: `on`, by part, the rows of the hypotheses whose fault sits on it: only they differ from sound ones.
        """
        words, nothing = self.words(quantity), Hypothesis(None, None, 0.0)
        sound = [self.chance(quantity, place, word, nothing) for word in words]
        chances = np.tile(np.array(sound), (len(hypotheses), 1))
        for row in on.get(place.partition("@")[0], ()):
            chances[row] = [self.chance(quantity, place, word, hypotheses[row]) for word in words]
        return chances

    def _chances(self, quantity: str, reach: str, hypothesis: Hypothesis) -> dict[str, float]:
        """Return the chances of all words where a look reaches the fault's place, only its part, or neither."""
        chances = dict(self._sound[quantity])
        if reach and hypothesis.rule is not None:
            for sight in hypothesis.rule.sights:
                if sight.quantity == quantity and (reach == "place" or sight.at == "part"):
                    chances[sight.word] = sight.chance
        sound = SOUND_WORD[quantity]
        chances = {w: max(c, STRAY) for w, c in chances.items() if w != sound}
        others = sum(chances.values())
        scale = min(1.0, 0.98 / others) if others else 1.0
        return {w: c * scale for w, c in chances.items()} | {sound: 1.0 - others * scale}


def _reach(place: str, hypothesis: Hypothesis) -> str:
    """Return whether a look at a place sees the fault: at its very `place`, at its `part` only, or not at all."""
    fault = hypothesis.fault
    part, _, end = place.partition("@")
    if fault is None or part != fault.part:
        return ""
    return "place" if not end or end == fault.at else "part"

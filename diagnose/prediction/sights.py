"""How often eyes, nose and hands find what, with a fault and on a sound part: from the rules, not from the circuit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.installation import Installation
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["SOUND_WORD", "Sights"]

#: the word that means nothing was found, by quantity
SOUND_WORD = {"look": "good", "smell": "none", "tug": "good", "wiggle": "steady"}
#: chance of a word that no rule speaks of: a slip, or something else that happens to be wrong
STRAY = 0.004


class _Chances(NamedTuple):
    """Chances of words by name, and as a row in the order of `Sights.words`."""

    by_word: dict[str, float]
    row: Array


class Sights:
    """Chances of what is seen, smelled and felt, worked out once for a rule base."""

    def __init__(self, rules: RuleBase, installation: Installation | None = None) -> None:
        """Collect what the rules say; a word on a sound part has the largest chance that any rule gives it.

        Where the installation is known, a part can only show what a fault of its kind shows: no cable swells.
        """
        self._kinds = {} if installation is None else {name: part.kind for name, part in installation.parts.items()}
        self._rules = tuple(rules.faults.values())
        self._known: dict[tuple[str, str], dict[str, float]] = {}
        self._made: dict[tuple[str, str, str, str], _Chances] = {}

    def _sound(self, quantity: str, kind: str) -> dict[str, float]:
        """Return the chance of each word on a sound part of a kind, of any kind for an empty one."""
        if (quantity, kind) not in self._known:
            found: dict[str, float] = {}
            for rule in self._rules:
                if not kind or any(kind in place.kinds for place in rule.sits_at):
                    for sight in rule.sights:
                        if sight.quantity == quantity:
                            found[sight.word] = max(found.get(sight.word, 0.0), sight.sound)
            self._known[(quantity, kind)] = found
        return self._known[(quantity, kind)]

    def _kind(self, place: str) -> str:
        return self._kinds.get(place.partition("@")[0], "")

    def words(self, quantity: str, place: str = "") -> list[str]:
        """Return the words of a quantity at a place, the one that means nothing was found first."""
        return self._words(quantity, self._kind(place))

    def _words(self, quantity: str, kind: str) -> list[str]:
        sound = SOUND_WORD[quantity]
        return [sound, *sorted(set(self._sound(quantity, kind)) - {sound})]

    def chance(self, quantity: str, place: str, word: str, hypothesis: Hypothesis) -> float:
        """Return the chance of a word under a hypothesis.

        Parameters: `quantity`, look, smell, tug or wiggle; `place`, a part or PART@POINT; `word`, one of the readings
        form.
        Returns: a chance above 0 and below 1; over all words of the quantity it sums to 1.
        """
        return self._chances_at(quantity, place, hypothesis).by_word.get(word, STRAY)

    def table(
        self, quantity: str, place: str, hypotheses: Sequence[Hypothesis], on: Mapping[str, Sequence[int]]
    ) -> Array:
        """Return the chances of all words of a quantity at a place, shape (hypotheses, words).

        Parameters: `on`, by part, the rows of the hypotheses whose fault sits on it: only they differ from sound ones.
        """
        sound = self._chances_at(quantity, place, Hypothesis(None, None, 0.0))
        chances = np.tile(sound.row, (len(hypotheses), 1))
        for row in on.get(place.partition("@")[0], ()):
            chances[row] = self._chances_at(quantity, place, hypotheses[row]).row
        return chances

    def _chances_at(self, quantity: str, place: str, hypothesis: Hypothesis) -> _Chances:
        """Return the chances of all words at a place under a hypothesis, worked out once for a kind of part."""
        kind, reach = self._kind(place), _reach(place, hypothesis)
        key = (quantity, kind, reach, hypothesis.rule.id if hypothesis.rule is not None and reach else "")
        if key not in self._made:
            made = self._chances(quantity, kind, reach, hypothesis)
            row = np.array([made.get(word, STRAY) for word in self._words(quantity, kind)])
            self._made[key] = _Chances(made, row)
        return self._made[key]

    def _chances(self, quantity: str, kind: str, reach: str, hypothesis: Hypothesis) -> dict[str, float]:
        """Return the chances of all words where a look reaches the fault's place, only its part, or neither."""
        chances = dict(self._sound(quantity, kind))
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

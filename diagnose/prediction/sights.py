"""How often eyes, nose and hands find what, with a fault and on a sound part: from the rules, not from the circuit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

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


class Sights:
    """Chances of what is seen, smelled and felt, worked out once for a rule base."""

    def __init__(self, rules: RuleBase, installation: Installation | None = None) -> None:
        """Collect what the rules say; a word on a sound part has the largest chance that any rule gives it.

        Where the installation is known, a part can only show what a fault of its kind shows: no cable swells.
        """
        self._kinds = {} if installation is None else {name: part.kind for name, part in installation.parts.items()}
        self._rules = tuple(rules.faults.values())
        self._known: dict[tuple[str, str], dict[str, float]] = {}
        self._made: dict[tuple[str, str, str, str], dict[str, float]] = {}
        self._rows: dict[tuple[str, str, str, str], Array] = {}

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
        sound = SOUND_WORD[quantity]
        return [sound, *sorted(set(self._sound(quantity, self._kind(place))) - {sound})]

    def chance(self, quantity: str, place: str, word: str, hypothesis: Hypothesis) -> float:
        """Return the chance of a word under a hypothesis.

        Parameters: `quantity`, look, smell, tug or wiggle; `place`, a part or PART@POINT; `word`, one of the readings
        form.
        Returns: a chance above 0 and below 1; over all words of the quantity it sums to 1.
        """
        reach = _reach(place, hypothesis)
        kind = self._kind(place)
        key = (quantity, kind, reach, hypothesis.rule.id if hypothesis.rule is not None and reach else "")
        if key not in self._made:
            self._made[key] = self._chances(quantity, kind, reach, hypothesis)
        return self._made[key].get(word, STRAY)

    def table(
        self, quantity: str, place: str, hypotheses: Sequence[Hypothesis], on: Mapping[str, Sequence[int]]
    ) -> Array:
        """Return the chances of all words of a quantity at a place, shape (hypotheses, words).

        Parameters: `on`, by part, the rows of the hypotheses whose fault sits on it: only they differ from sound ones.
        """
        kind, nothing = self._kind(place), Hypothesis(None, None, 0.0)
        chances = np.tile(self._row(quantity, kind, "", nothing), (len(hypotheses), 1))
        for row in on.get(place.partition("@")[0], ()):
            chances[row] = self._row(quantity, kind, _reach(place, hypotheses[row]), hypotheses[row])
        return chances

    def _row(self, quantity: str, kind: str, reach: str, hypothesis: Hypothesis) -> Array:
        """Return the chances of all words of a quantity on a kind of part under a hypothesis."""
        key = (quantity, kind, reach, hypothesis.rule.id if hypothesis.rule is not None and reach else "")
        if key not in self._rows:
            made, sound = self._chances(quantity, kind, reach, hypothesis), SOUND_WORD[quantity]
            words = [sound, *sorted(set(self._sound(quantity, kind)) - {sound})]
            self._rows[key] = np.array([made.get(word, STRAY) for word in words])
        return self._rows[key]

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

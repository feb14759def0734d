"""One case opened for a trainee: its vehicle, its room, and how it is judged when it is over.

It joins the parts of this folder; it opens no file and prints nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.practice import PracticeRules, Score
from diagnose.model.reading import Read, Take
from diagnose.model.rules import RuleBase
from diagnose.practice.debrief import Debrief, debriefed
from diagnose.practice.examiner import Examiner
from diagnose.practice.room import Room
from diagnose.practice.scoring import Best, scored
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.simulation.mismatch import OUTSIDE
from diagnose.simulation.vehicle import SimulatedVehicle

__all__ = ["Game", "vehicle_of"]


def vehicle_of(
    installation: Installation, rules: RuleBase, tables: Tables, hidden: Sequence[Hypothesis], seed: int
) -> SimulatedVehicle:
    """Return the vehicle of a case: the same seed gives the same one to every trainee."""
    first, also = (hidden[0], hidden[1:]) if hidden else (SOUND, ())
    return SimulatedVehicle(installation, rules, tables, first, seed, also=also, mismatch=OUTSIDE)


class Game:
    """A case under way."""

    def __init__(
        self, installation: Installation, rules: RuleBase, tables: Tables, hidden: Sequence[Hypothesis], seed: int,
        tools: Sequence[str], complaint: str | None, lies: dict[Take, Read], best: Best,
    ) -> None:  # fmt: skip
        """Open the case; the engine is made when it is first asked."""
        self.hidden = tuple(h.fault for h in hidden if h.fault is not None)
        self.room = Room(vehicle_of(installation, rules, tables, hidden, seed), tools, seed, lies)
        self.best = best
        self._made: Examiner | None = None
        self._engine = (installation, rules, tables, complaint, tools)

    @property
    def examiner(self) -> Examiner:
        """The engine, made once."""
        if self._made is None:
            self._made = Examiner(*self._engine)
        return self._made

    def score(self, rules: PracticeRules) -> Score:
        """Return the score as things stand."""
        left = bool(self.room.vehicle.faults)
        return scored(self.room.steps, self.room.readings, self.hidden, left, self.examiner, rules, self.best)

    def debrief(self, score: Score, rules: PracticeRules, teaches: Sequence[str]) -> Debrief:
        """Return the debrief of what was scored."""
        room = self.room
        return debriefed(room.steps, room.readings, self.hidden, self.examiner, score, rules, teaches)

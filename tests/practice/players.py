"""Trainees of three kinds, who act in a room: the engine, the fixed textbook order, chance. Their scores are compared.

    .venv/bin/python -m tests.practice.players ID ...
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable

from diagnose.evaluation.textbook import follow
from diagnose.inference.candidates import candidates
from diagnose.inference.complaints import match_complaint
from diagnose.model.fault import FaultAt
from diagnose.model.practice import Act, Score
from diagnose.model.reading import Read, Take
from diagnose.practice.game import Game
from diagnose.practice.policy import played
from diagnose.practice.scoring import Best
from diagnose.prediction.sights import SOUND_WORD
from diagnose.store.practice_cases import LoadedPractice, case_path, load_practice_rules
from diagnose.store.textbook import load_textbook
from tests.inference.engines import rule_base
from tests.practice.figures import examiner_of, loaded

#: tests that chance takes, and those of the textbook order at most
RANDOM_TESTS, TEXTBOOK_TESTS = 10, 50


def game_of(case: LoadedPractice, best: float) -> Game:
    one = case.case
    game = Game(
        case.installation, *rule_base(), case.hidden, one.seed, one.tools, one.complaint, dict(case.lies), Best(best)
    )
    game._made = examiner_of(case)
    game.room.do(Act("zero", "zero"))
    return game


def named(game: Game, fault: FaultAt | None, again: Take | None) -> None:
    """Name a fault, mend it, and read once more what told it."""
    faults = () if fault is None else (fault,)
    game.room.do(Act("diagnosis", "", named=faults, confidence=0.9))
    if fault is not None:
        game.room.do(Act("repair", "", named=faults))
        if again is not None:
            game.room.do(Act("measure", "", again))


def by_engine(game: Game, case: LoadedPractice) -> None:
    found = played(game.examiner, game.room.vehicle, case.lies)
    for move in found.moves:
        if isinstance(move, FaultAt):
            named(game, move, None)
        else:
            game.room.do(Act("measure", "", move.test.take))
    if not found.mended:
        named(game, None, None)


class EnoughError(RuntimeError):
    """No more tests."""


class RoomMeter:
    """What the textbook order reads by."""

    def __init__(self, game: Game) -> None:
        self.game, self.vehicle = game, game.room.vehicle
        self.known: dict[Take, Read] = {}

    def read(self, take: Take) -> Read:
        if take not in self.known:
            if len(self.known) >= TEXTBOOK_TESTS:
                raise EnoughError
            step = self.game.room.do(Act("measure", "", take))
            self.known[take] = step.read or Read("skipped", "skipped")
        return self.known[take]


def by_textbook(game: Game, case: LoadedPractice) -> None:
    complaint = match_complaint(case.case.complaint, rule_base()[0])
    meter = RoomMeter(game)
    try:
        fault = follow(load_textbook(), meter, complaint.id if complaint is not None else None)  # type: ignore[arg-type]
    except EnoughError:
        fault = None
    measured = [t for t in meter.known if t.quantity not in SOUND_WORD]
    named(game, fault, measured[-1] if measured else None)


def by_chance(game: Game, case: LoadedPractice) -> None:
    chance = random.Random(case.case.seed)
    takes = chance.sample(candidates(case.installation, case.case.tools), RANDOM_TESTS)
    for take in takes:
        game.room.do(Act("measure", "", take))
    named(game, chance.choice(game.examiner.hypotheses[1:]).fault, takes[-1])


PLAYERS: dict[str, Callable[[Game, LoadedPractice], None]] = {
    "engine": by_engine, "textbook": by_textbook, "chance": by_chance,
}  # fmt: skip


def scores(case: LoadedPractice, best: float) -> dict[str, Score]:
    """Return what each kind of trainee scores on a case whose best minutes are known."""
    found = {}
    for name, play in PLAYERS.items():
        game = game_of(case, best)
        play(game, case)
        found[name] = game.score(load_practice_rules())
    return found


def main(names: list[str]) -> None:
    """Print the scores on some cases, and the means."""
    from diagnose.store.practice_figures import load_figures

    known = load_figures()
    total = dict.fromkeys(PLAYERS, 0)
    for name in names:
        found = scores(loaded(case_path(name)), known[name].best_minutes if name in known else 15.0)
        for player, score in found.items():
            total[player] += score.points
        print(name, {p: (s.points, s.passed, s.minutes, s.gates) for p, s in found.items()}, flush=True)
    print({player: points / len(names) for player, points in total.items()})


if __name__ == "__main__":
    main(sys.argv[1:])

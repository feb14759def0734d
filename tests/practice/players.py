"""Trainees of three kinds, who act in a room: the engine, the fixed textbook order, chance. Their scores are compared.

    .venv/bin/python -m tests.practice.players [ID ...]

It takes half a minute to two minutes a case of a processor's time, and goes on where it was broken off.
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from tempfile import gettempdir
from typing import NamedTuple

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
from diagnose.store.practice_cases import LoadedPractice, case_paths, load_practice_rules
from diagnose.store.textbook import load_textbook
from tests.inference.engines import rule_base
from tests.practice.figures import examiner_of, loaded

#: tests that chance takes, and those of the textbook order at most
RANDOM_TESTS, TEXTBOOK_TESTS = 10, 50
#: where a run keeps what it has, a line a case, so that it can be broken off
RESULTS = Path(gettempdir()) / "diagnose_practice_players.jsonl"


class Row(NamedTuple):
    """What one trainee came to in one case."""

    points: int
    minutes: float
    gates: Sequence[str]


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
    """Play the cases named, or all, those of one installation together; add a line a case to RESULTS, print the table.

    Cases that stand in RESULTS already are not played again.
    """
    from diagnose.store.practice_figures import load_figures

    known, done = load_figures(), _kept()
    cases = [loaded(path) for path in case_paths() if not names or path.stem in names]
    for case in sorted(cases, key=lambda c: (c.installation.title, c.case.id)):
        name = case.case.id
        if name not in done:
            found = scores(case, known[name].best_minutes)
            done[name] = {p: Row(s.points, s.minutes, s.gates) for p, s in found.items()}
            with RESULTS.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"case": name, "scores": done[name]}) + "\n")
            print(name, done[name], flush=True)
    print("\n".join(table({name: one for name, one in done.items() if not names or name in names})))


def _kept() -> dict[str, dict[str, Row]]:
    lines = RESULTS.read_text(encoding="utf-8").splitlines() if RESULTS.is_file() else []
    rows = [json.loads(line) for line in lines]
    return {row["case"]: {p: Row(*one) for p, one in row["scores"].items()} for row in rows}


def table(found: Mapping[str, Mapping[str, Row]]) -> list[str]:
    """Return means of points and minutes of each kind, and the share of cases in which none is before the engine."""
    lines = []
    for player in PLAYERS:
        rows = [one[player] for one in found.values()]
        points, minutes = sum(row.points for row in rows) / len(rows), sum(row.minutes for row in rows) / len(rows)
        passed = sum(not row.gates for row in rows) / len(rows)
        lines.append(f"{player}: {points:.1f} points, passed {passed:.0%}, {minutes:.1f} min")
    first, alone = (sum(leads(one, tied) for one in found.values()) / len(found) for tied in (True, False))
    return [*lines, f"{len(found)} cases: engine first in {first:.0%}, alone in {alone:.0%}"]


def leads(one: Mapping[str, Row], tied: bool = True) -> bool:
    """Return whether no other trainee has more points than the engine in a case; unless `tied`, nor as many."""
    best = max(row.points for player, row in one.items() if player != "engine")
    return one["engine"].points > best or (tied and one["engine"].points == best)


if __name__ == "__main__":
    main(sys.argv[1:])

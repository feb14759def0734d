"""Trainees of three kinds, who act in a room: the engine, the fixed textbook order, chance. Their scores are compared.

    .venv/bin/python -m tests.practice.players [ID ...]

It takes a quarter of a minute to two minutes a case of a processor's time, and goes on where it was broken off: after a
change of the engine or of the cases, delete `diagnose_practice_players.jsonl` in the folder for temporary files first.
"""

from __future__ import annotations

import json
import random
import sys
from collections import Counter
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
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.sights import SOUND_WORD
from diagnose.session.proving import as_expected
from diagnose.store.practice_cases import LoadedPractice, case_path, case_paths, load_practice_rules
from diagnose.store.textbook import load_textbook
from tests.inference.engines import rule_base
from tests.practice.figures import examiner_of, loaded

#: tests that chance takes, and those of the textbook order at most
RANDOM_TESTS, TEXTBOOK_TESTS = 10, 50
#: part of the engine's points that chance may have at most; which sample is drawn
FAR_BELOW, SAMPLE = 0.5, 1
#: where a run keeps what it has, a line a case, so that it can be broken off
RESULTS = Path(gettempdir()) / "diagnose_practice_players.jsonl"


class Row(NamedTuple):
    """What one trainee came to in one case."""

    points: int
    minutes: float
    gates: Sequence[str]
    found: bool


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


def told_by(game: Game, known: Mapping[Take, Read]) -> Take | None:
    """Return the last test that was not as it should be, one of the meter before one of the eyes; else the last."""
    takes = [take for take, read in known.items() if read.kind != "skipped"]
    bands = expected_readings(game.examiner.installation, *rule_base(), takes, SOUND, 1)
    out = [band.take for band in bands if not as_expected(band, known[band.take])]
    for some in (out, takes):
        if some:
            return next((take for take in reversed(some) if take.quantity not in SOUND_WORD), some[-1])
    return None


def by_textbook(game: Game, case: LoadedPractice) -> None:
    complaint = match_complaint(case.case.complaint, rule_base()[0])
    meter = RoomMeter(game)
    try:
        fault = follow(load_textbook(), meter, complaint.id if complaint is not None else None)  # type: ignore[arg-type]
    except EnoughError:
        fault = None
    named(game, fault, told_by(game, meter.known))


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
            done[name] = {p: Row(s.points, s.minutes, s.gates, s.found) for p, s in found.items()}
            with RESULTS.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"case": name, "scores": done[name]}) + "\n")
            print(name, done[name], flush=True)
    print("\n".join(table({name: one for name, one in done.items() if not names or name in names})))


def _kept() -> dict[str, dict[str, Row]]:
    lines = RESULTS.read_text(encoding="utf-8").splitlines() if RESULTS.is_file() else []
    rows = [json.loads(line) for line in lines]
    return {row["case"]: {p: Row(*one) for p, one in row["scores"].items()} for row in rows}


def table(found: Mapping[str, Mapping[str, Row]]) -> list[str]:
    """Return the table: what each kind came to on the mean, then, by level, mean points and the share in order."""
    lines = ["| trainee | points | found | passed | minutes |", "|---|---|---|---|---|"]
    for player in PLAYERS:
        rows = [one[player] for one in found.values()]
        kept = [(row.points, row.found, not row.gates, row.minutes) for row in rows]
        means = [sum(values) / len(rows) for values in zip(*kept, strict=True)]
        lines.append(f"| {player} | {means[0]:.1f} | {means[1]:.0%} | {means[2]:.0%} | {means[3]:.1f} |")
    lines += [
        "",
        f"| level | cases | {', '.join(PLAYERS)} | in order | engine first | first alone |",
        "|---|---|---|---|---|---|",
    ]
    levels = {name: loaded(case_path(name)).case.level for name in found}
    for level in (*sorted(set(levels.values())), None):
        some = [one for name, one in found.items() if level in (levels[name], None)]
        points = ", ".join(f"{sum(one[p].points for one in some) / len(some):.0f}" for p in PLAYERS)
        shares = [sum(map(kind, some)) / len(some) for kind in (in_order, leads, alone)]
        lines.append(f"| {level or 'all'} | {len(some)} | {points} | {' | '.join(f'{s:.0%}' for s in shares)} |")
    return lines


def in_order(one: Mapping[str, Row]) -> bool:
    """Return whether the engine has most points, the textbook order no fewer than chance, and chance at most half."""
    engine, textbook, chance = (one[player].points for player in PLAYERS)
    return engine >= textbook >= chance and chance <= FAR_BELOW * engine


def leads(one: Mapping[str, Row]) -> bool:
    """Return whether no other trainee has more points than the engine in a case."""
    return one["engine"].points >= max(row.points for player, row in one.items() if player != "engine")


def alone(one: Mapping[str, Row]) -> bool:
    """Return whether none has as many either."""
    return one["engine"].points > max(row.points for player, row in one.items() if player != "engine")


def sample(count: int) -> list[LoadedPractice]:
    """Return cases drawn by chance: the level that was drawn least comes next, then the layout; a longer sample begins
    with a shorter one.
    """
    left = [loaded(path) for path in case_paths()]
    random.Random(SAMPLE).shuffle(left)
    drawn: list[LoadedPractice] = []
    for _ in range(count):
        levels = Counter(case.case.level for case in drawn)
        layouts = Counter(case.installation.title for case in drawn)
        case = min(left, key=lambda c: (levels[c.case.level], layouts[c.installation.title]))
        left.remove(case)
        drawn.append(case)
    return drawn


if __name__ == "__main__":
    main(sys.argv[1:])

"""The dialogue of practice: acts as typed go into the room, what comes of them is shown; a coach asks where wanted.

It decides nothing about score or vehicle.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from diagnose.basics.errors import BadInput, Problem
from diagnose.cli.asker import Asker, EndOfAnswers, possible_words
from diagnose.cli.practice_acts import ACTS, HELP, ActReader
from diagnose.cli.practice_coach import Coach
from diagnose.cli.practice_warming import Warming
from diagnose.cli.walk_answers import Answers
from diagnose.model.practice import Act
from diagnose.model.reading import QUANTITIES
from diagnose.present.practice import case_lines, points_lines, step_lines, wiring_lines

if TYPE_CHECKING:
    from diagnose.cli.practice_case import Opened, Wanted

__all__ = ["acted"]

#: acts in one case, so that an endless stream of them ends too
MOST_ACTS = 500
_WORDS = ("help", "points", "faults", "cautions", "wiring", "story", "done")


def acted(case: Opened, asker: Asker, wanted: Wanted, text: str | None, width: int) -> None:
    """Let acts be typed until the trainee is done, or no more come.

    Parameters: `text`, a list of acts, None where they are typed.
    Raises: BadInput where a list of answers holds what is no act, each with its line; nothing is done then.
    """
    room, loaded = case.game.room, case.loaded
    reader = ActReader(Answers(loaded.installation, case.rules))
    coached = wanted.coach if wanted.coach is not None else _at_terminal(wanted)
    coach = Coach(case, asker, reader, width) if coached and wanted.exam is None else None
    if text is not None and coach is None:
        acts = _listed(text, reader, wanted.answers or "--answers")
        asker.say("\n".join(case_lines(loaded.case, loaded.installation, width)) + "\n")
        shown: set[str] = set()
        for act in acts:
            if not room.over:
                asker.say(f"> {act.text}")
                asker.say("\n".join(step_lines(room.do(act), width, loaded.installation, case.rules, shown)))
        return
    asker.say("\n".join(case_lines(loaded.case, loaded.installation, width)) + "\n")
    _typed(case, asker, reader, coach, width)


def _typed(case: Opened, asker: Asker, reader: ActReader, coach: Coach | None, width: int) -> None:
    """Take acts from whoever types."""
    room, installation = case.game.room, case.loaded.installation
    shown: set[str] = set()
    with Warming(case.game.examiner, room) as warming:
        for _ in range(MOST_ACTS):
            if room.over:
                return
            try:
                text = asker.ask("Act?", _WORDS, lambda text: reader.read(text, room.state), complete=_grown)
            except EndOfAnswers as end:
                asker.say(f"({end}: scored as it stands)")
                return
            if text == "done":
                text = "stop"
            if text in _WORDS:
                asker.say("\n".join(_word(text, case, width)))
                continue
            act = reader.read(text, room.state)
            warming.wait()
            expected = coach.before(act) if coach is not None else None
            asker.say("\n".join(step_lines(room.do(act), width, installation, case.rules, shown)))
            if coach is not None and expected is not None:
                coach.after(act, expected)
            warming.begin()


def _word(word: str, case: Opened, width: int) -> list[str]:
    """Return what a plain word of the prompt shows."""
    installation, rules = case.loaded.installation, case.rules
    if word == "help":
        return HELP.splitlines()
    if word == "points":
        return points_lines(installation, width)
    if word == "faults":
        return [
            f"  {r.id}: {r.name}, at {', '.join(dict.fromkeys(k for p in r.sits_at for k in p.kinds))}"
            for r in rules.faults.values()
        ]
    if word == "cautions":
        return [f"- {c.says}" for c in rules.cautions.values()]
    if word == "wiring":
        return wiring_lines(installation, width)
    return case_lines(case.loaded.case, installation, width, wiring=False)


def _listed(answers: str, reader: ActReader, name: str) -> list[Act]:
    """Return the acts of a list; a line that is empty, or begins with #, is passed over.

    Raises: BadInput with every line that is no act.
    """
    found: list[Act] = []
    problems: list[Problem] = []
    state: str | None = None
    for number, line in enumerate(answers.splitlines(), 1):
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        try:
            act = reader.read("stop" if text == "done" else text, state)
        except ValueError as error:
            what, _, right = str(error).partition(", ")
            problems.append(Problem(name, number, 1, what, right or "type an act as `help` shows them"))
            continue
        state = act.state or (act.take.when if act.take is not None else state)
        found.append(act)
    if problems:
        raise BadInput(problems)
    return found


def _at_terminal(wanted: Wanted) -> bool:
    return wanted.answers is None and sys.stdin is not None and sys.stdin.isatty()


def _grown(text: str) -> list[str]:
    return list(possible_words(text, (*_WORDS, *ACTS, *QUANTITIES))) if text.strip() else list(_WORDS)

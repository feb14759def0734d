"""A script played: each question answered by whoever answers, down to its end; and the same play without a script, the
best question chosen afresh each time, to compare with.

It asks and follows; who answers, and whether the end was right, is known elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from diagnose.model.reading import Read, Take
from diagnose.model.script import Answer, End, Question, Script, option_of
from diagnose.scripts.compiling import Order, Sources, decided, limits_of, table_of
from diagnose.scripts.deciding import Decision
from diagnose.scripts.growing import root_of, step
from diagnose.scripts.standing import Table

__all__ = ["Afresh", "Play", "play", "play_afresh"]

#: answers one test; `danger` tells that it asks for a sign of danger
Answers = Callable[[Take, bool], Read]


class Play(NamedTuple):
    """One play: the questions with the answers they had, and the end."""

    asked: tuple[tuple[Question, Answer], ...]
    end: End

    @property
    def minutes(self) -> float:
        """Minutes [min] that the questions took."""
        return sum(question.minutes for question, _ in self.asked)


class Afresh(NamedTuple):
    """What choosing afresh came to: why it ended, what was decided, the minutes [min], the tests taken."""

    because: str
    decision: Decision
    minutes: float
    asked: tuple[Take, ...]


def play(script: Script, answers: Answers) -> Play:
    """Return the play of a script."""
    asked: list[tuple[Question, Answer]] = []
    at = script.steps[script.root]
    while isinstance(at, Question):
        answer = option_of(at.answers, answers(at.take, at.danger))
        asked.append((at, answer))
        at = script.steps[answer.go]
    return Play(tuple(asked), at)


def play_afresh(sources: Sources, order: Order, table: Table | None, answers: Answers) -> Afresh:
    """Return what comes of choosing each question afresh, by the belief of this one caller.

    Parameters: `table`, that of the order, where it was made already.
    """
    table = table_of(sources, order) if table is None else table
    limits = limits_of(sources.tables, order)
    at, because, minutes = root_of(table), None, 0.0
    asked: list[Take] = []
    while True:
        node, after = step(table, limits, at, len(asked), because)
        if node.take is None:
            break
        danger = at.danger < len(table.danger)
        branch = option_of(node.branches, answers(node.take, danger))
        asked.append(node.take)
        minutes += node.minutes
        at, because = after[branch.to]
    belief = table.grains.by_hypothesis(at.weights)
    because = node.because or "tests_spent"
    decision = decided(belief, at.unlisted, table, sources, order, because)
    return Afresh(because, decision, minutes, tuple(asked))

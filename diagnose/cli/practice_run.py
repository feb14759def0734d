"""Runs one practice case: opens it, lets acts be typed, shows score and debrief, keeps what is to be kept."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.practice_case import Opened, Wanted, opened

if TYPE_CHECKING:
    from diagnose.cli.asker import Asker
    from diagnose.model.practice import Score

__all__ = ["run_case", "width"]


def run_case(path: str, wanted: Wanted) -> int:
    """Run the case of a file and return the exit status."""
    from diagnose.cli.asker import open_asker
    from diagnose.cli.practice_dialogue import acted
    from diagnose.cli.practice_keep import refuse_early
    from diagnose.store.answers import load_answers

    refuse_early(wanted)
    text = None if wanted.answers is None else load_answers(wanted.answers)
    case = opened(Path(path), wanted.cache, wanted.rules_from)
    asker = open_asker(wanted.plain, text, sys.stderr if wanted.as_json else sys.stdout)
    if wanted.worked:
        from diagnose.cli.practice_worked import show_worked

        return show_worked(case, asker, width())
    keep = _recalled(case, wanted.cache)
    try:
        acted(case, asker, wanted, text, width())
        score = _scored(case, asker)
        _told(case, score, wanted, asker)
    finally:
        keep()
    return 3 if case.game.room.danger else 0


def _scored(case: Opened, asker: Asker) -> Score:
    """Return the score; a case without figures is measured on its own vehicle."""
    game = case.game
    if game.best.minutes == 0.0 and any(step.read is not None for step in game.room.steps):
        from diagnose.practice.game import vehicle_of
        from diagnose.practice.policy import played

        loaded = case.loaded
        asker.say("(no figures are kept of this case: the best way is worked out now, which may take a minute)")
        vehicle = vehicle_of(loaded.installation, case.rules, case.tables, loaded.hidden, loaded.case.seed)
        game.best = game.best._replace(minutes=played(game.examiner, vehicle, loaded.lies).minutes)
    return game.score(case.practice)


def _told(case: Opened, score: Score, wanted: Wanted, asker: Asker) -> None:
    """Show score and debrief, and keep what is to be kept."""
    from diagnose.cli.practice_keep import kept
    from diagnose.present.practice import debrief_lines, score_lines
    from diagnose.present.practice_json import practice_form, practice_json

    loaded, game = case.loaded, case.game
    secret = wanted.exam is not None or loaded.case.exam
    form = practice_form(loaded.case, game.room.steps, score, None if secret else game.hidden, case.rules)
    if wanted.as_json:
        typer.echo(practice_json(form))
    else:
        asker.say("\n" + "\n".join(score_lines(score, width())))
    if not secret and (wanted.html is not None or not wanted.as_json):
        debrief = game.debrief(score, case.practice, loaded.case.teaches)
        if not wanted.as_json:
            asker.say("\n" + "\n".join(debrief_lines(debrief, width(), loaded.installation, case.rules)))
        if wanted.html is not None:
            from diagnose.present.practice_page import debrief_page
            from diagnose.store.new_file import write_new

            page = debrief_page(loaded.case, score, debrief, loaded.installation, case.rules)
            write_new(wanted.html, page, wanted.force)
    kept(case, score, form, wanted, asker)


def _recalled(case: Opened, cache: bool):  # type: ignore[no-untyped-def]
    """Give the engine what an earlier run worked out; return what keeps the rest."""
    from diagnose.cli.rank import recalled

    return recalled(case.game.examiner, case.loaded.installation, 1, case.folders) if cache else lambda: None


def width() -> int:
    """Return the columns to write in."""
    return min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)

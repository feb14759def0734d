"""One practice case as the command line wants it, opened with all that plays it; nothing is asked or shown here."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from diagnose.model.figures import Tables
    from diagnose.model.practice import PracticeRules
    from diagnose.model.rules import RuleBase
    from diagnose.practice.game import Game
    from diagnose.store.practice_cases import LoadedPractice
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["Opened", "Wanted", "opened"]


class Wanted(NamedTuple):
    """What the command line asks for."""

    answers: str | None
    as_json: bool
    worked: bool
    coach: bool | None
    html: str | None
    exam: str | None
    word: str
    name: str | None
    folder: str | None
    plain: bool
    cache: bool
    force: bool
    rules_from: str | None = None


class Opened(NamedTuple):
    """A case with all that plays it."""

    loaded: LoadedPractice
    rules: RuleBase
    tables: Tables
    practice: PracticeRules
    game: Game
    folders: RuleFolders


def opened(path: Path, cache: bool = True, rules_from: str | None = None) -> Opened:
    """Return a case ready to be played; by rules of one's own, no figures that are kept of it hold."""
    from diagnose.cli.loading import figures, rule_base, rules_named
    from diagnose.practice.game import Game
    from diagnose.practice.scoring import Best
    from diagnose.store.practice_cases import load_practice_case, load_practice_rules
    from diagnose.store.practice_figures import load_figures

    folders = rules_named(rules_from)
    rules, tables, practice = rule_base(cache, folders), figures(folders), load_practice_rules()
    loaded = load_practice_case(path, rules, practice)
    case, known = loaded.case, load_figures().get(loaded.case.id)
    best = Best(0.0)
    if rules_from is None and known is not None and known.digest == loaded.digest:
        best = Best(known.best_minutes, known.textbook_minutes)
    game = Game(
        loaded.installation, rules, tables, loaded.hidden, case.seed, case.tools, case.complaint, loaded.lies, best
    )
    return Opened(loaded, rules, tables, practice, game, folders)

"""Reads a whole rule base for those who judge it: every file with places, the records, and what is wrong so far.

Nothing is raised but for what cannot be read at all, so that one defect does not hide the others. It must not judge
beyond what reading finds.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import partial
from pathlib import Path
from typing import NamedTuple, TypeVar

from diagnose.basics.errors import BadInput, Problem
from diagnose.lint.base import Base
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.store.checks import load_check_examples
from diagnose.store.installations import installation_from_mapping
from diagnose.store.rule_checks import Named
from diagnose.store.rule_examples import load_cause_examples, load_examples
from diagnose.store.rule_folders import SOURCES, RuleFolders, Unfilled, as_folders
from diagnose.store.rules import UNFILLED, read_rules
from diagnose.store.script_words import load_script_words
from diagnose.store.tables import load_tables
from diagnose.store.unknowns import load_unknowns
from diagnose.store.worked_cases import LoadedCase, worked_case
from diagnose.store.yaml_text import Document

__all__ = ["ReadBase", "read_base"]

T = TypeVar("T")
SECTIONS = (
    "faults", "tests", "complaints", "cautions", "causes", "operating_states", "tables", "checks", "layouts",
    "examples", "scripts",
)  # fmt: skip


class ReadBase(NamedTuple):
    """A rule base with its figures, both None where something is wrong; `wrong`, each with the name of its check."""

    base: Base | None
    tables: Tables | None
    wrong: tuple[Named, ...]


def read_base(folder: Path | RuleFolders) -> ReadBase:
    """Return a rule base, or all that is wrong with it.

    Parameters: `folder`, which holds `faults`, `tests` and so on, perhaps with a company's own over it.
    Raises: BadInput where there is no rule base, or with every file that is no YAML.
    """
    base = as_folders(folder)
    texts, wrong = _texts(base)
    files = read_rules(base)
    wrong += files.wrong
    tables = _tried("figures", partial(load_tables, base), wrong)
    layouts: dict[str, Installation] = {}
    for name, document in texts.items():
        if name.startswith("rules/layouts/"):
            layout = _tried("layout", partial(installation_from_mapping, document.data, document, (), base), wrong)
            if layout is not None:
                layouts[Path(name).stem] = layout
    if tables is not None and not files.wrong:
        for load in (load_examples, load_cause_examples):
            _tried("example", partial(load, base), wrong)
        for name, loads in (("cards", load_script_words), ("unknowns", load_unknowns)):
            if f"rules/scripts/{name}.yaml" in texts:
                _tried("script", partial(loads, base.base), wrong)
        _tried("design_check", partial(load_check_examples, tables, base.base), wrong)
        for stem in base.stems("examples"):
            _tried("example", partial(_example, stem, base, files.rules.faults), wrong)
    if wrong or tables is None:
        return ReadBase(None, None, tuple(wrong))
    return ReadBase(Base(texts, files.rules, files.sources, layouts), tables, ())


def _tried(name: str, load: Callable[[], T], wrong: list[Named]) -> T | None:
    """Return what is loaded, or None with its problems added under the name of a check."""
    try:
        return load()
    except Unfilled as error:
        wrong += [(UNFILLED, problem) for problem in error.problems]
        return None
    except BadInput as error:
        wrong += [(name, problem) for problem in error.problems]
        return None


def _example(stem: str, base: RuleFolders, faults: Collection[str]) -> LoadedCase:
    """Return an example that stands beside a company's own complaints, tests and layouts."""
    return worked_case(stem, base.read(f"examples/{stem}.yaml"), base, faults)


def _texts(base: RuleFolders) -> tuple[dict[str, Document], list[Named]]:
    """Return every file of a rule base by the name of the one that ships, and what is still to be filled in."""
    if not (base.base / "MARKER.yaml").is_file():
        right = "give the folder that holds `faults`, `tests` and MARKER.yaml"
        raise BadInput([Problem(str(base.base), None, None, "this is no rule base", right)])
    found: dict[str, Document] = {}
    unfilled: list[Named] = []
    problems: list[Problem] = []
    for relative in (SOURCES, *(f"{section}/{stem}.yaml" for section in SECTIONS for stem in base.stems(section))):
        try:
            found[f"rules/{relative}"] = base.read(relative)
        except Unfilled as error:
            unfilled += [(UNFILLED, problem) for problem in error.problems]
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return found, unfilled

"""Reads a whole rule base for those who judge it: every file with places, the records, and what is wrong so far.

Nothing is raised but for what cannot be read at all, so that one defect does not hide the others. It must not judge
beyond what reading finds.
"""

from __future__ import annotations

from collections.abc import Callable
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
from diagnose.store.rules import read_rules
from diagnose.store.tables import load_tables
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["ReadBase", "read_base"]

T = TypeVar("T")
SECTIONS = ("faults", "tests", "complaints", "cautions", "causes", "operating_states", "tables", "checks", "layouts")


class ReadBase(NamedTuple):
    """A rule base with its figures, both None where something is wrong; `wrong`, each with the name of its check."""

    base: Base | None
    tables: Tables | None
    wrong: tuple[Named, ...]


def read_base(folder: Path) -> ReadBase:
    """Return a rule base, or all that is wrong with it.

    Parameters: `folder`, which holds `faults`, `tests` and so on.
    Raises: BadInput where there is no rule base, or with every file that is no YAML.
    """
    texts = _texts(folder)
    files = read_rules(folder)
    wrong = list(files.wrong)
    tables = _tried("figures", partial(load_tables, folder), wrong)
    layouts: dict[str, Installation] = {}
    for name, document in texts.items():
        if name.startswith("rules/layouts/"):
            layout = _tried("layout", partial(installation_from_mapping, document.data, document, ()), wrong)
            if layout is not None:
                layouts[Path(name).stem] = layout
    if tables is not None and not files.wrong:
        for load in (load_examples, load_cause_examples):
            _tried("example", partial(load, folder), wrong)
        _tried("design_check", partial(load_check_examples, tables, folder), wrong)
    if wrong or tables is None:
        return ReadBase(None, None, tuple(wrong))
    return ReadBase(Base(texts, files.rules, files.sources, layouts), tables, ())


def _tried(name: str, load: Callable[[], T], wrong: list[Named]) -> T | None:
    """Return what is loaded, or None with its problems added under the name of a check."""
    try:
        return load()
    except BadInput as error:
        wrong += [(name, problem) for problem in error.problems]
        return None


def _texts(folder: Path) -> dict[str, Document]:
    """Return every file of a rule base by the name that messages give it."""
    if not (folder / "MARKER.yaml").is_file():
        right = "give the folder that holds `faults`, `tests` and MARKER.yaml"
        raise BadInput([Problem(str(folder), None, None, "this is no rule base", right)])
    found: dict[str, Document] = {}
    problems: list[Problem] = []
    for path in [folder / "sources.yaml", *(f for s in SECTIONS for f in sorted((folder / s).glob("*.yaml")))]:
        name = f"rules/{path.relative_to(folder).as_posix()}"
        try:
            found[name] = read_yaml(path, name)
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return found

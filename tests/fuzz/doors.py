"""The loaders that a fuzz input goes through when no whole command is run: one for each file form, quick and quiet."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

from diagnose.model.causes import CauseRule
from diagnose.model.commissioning_rules import StepRule
from diagnose.model.installation import Installation
from diagnose.model.practice import PracticeRules
from diagnose.model.rules import Caution, ComplaintRule, FaultRule, RuleBase, TestRule
from diagnose.store.commissioning_jobs import is_commissioning, load_commissioning
from diagnose.store.installations import load_installation, load_layout
from diagnose.store.jobs import installation_of, load_job
from diagnose.store.jobs_record import read_lines
from diagnose.store.practice_cases import load_practice_case, load_practice_rules
from diagnose.store.practice_results import load_result
from diagnose.store.readings import load_readings
from diagnose.store.rules import load_rules
from diagnose.store.script_words import load_script_words
from diagnose.store.survey import load_survey
from diagnose.store.textbook import load_textbook
from diagnose.store.unknowns import load_unknowns
from diagnose.store.validation import validated
from diagnose.store.worked_cases import load_worked_case
from diagnose.store.yaml_text import read_yaml

__all__ = ["DOORS", "LAYOUT", "layout"]

#: the layout that readings are read on: the smallest
LAYOUT = "solar_only_van"


@cache
def layout() -> Installation:
    """Return the layout that readings are read on."""
    return load_layout(LAYOUT)


@cache
def _rules() -> tuple[RuleBase, PracticeRules]:
    return load_rules(), load_practice_rules()


def _job(path: Path) -> None:
    lines = read_lines(path)
    of_steps = bool(lines.data) and is_commissioning(lines.data[0])
    installation_of(load_commissioning(path, lines) if of_steps else load_job(path, lines))


def _rule(model: type) -> Callable[[Path], object]:
    return lambda path: validated(model, read_yaml(path))


def _in_folder(load: Callable[[Path], object], below: str = "") -> Callable[[Path], object]:
    """Return the door of a file that lies in a rule base: the base is the folder it lies in."""
    return lambda path: load(path.resolve().parents[1 if below else 0])


DOORS: dict[str, Callable[[Path], object]] = {
    "installation": load_installation,
    "readings": lambda path: load_readings(path, layout()),
    "expected": lambda path: load_readings(path, layout(), needs_read=False),
    "practice": lambda path: load_practice_case(path, *_rules()),
    "worked": load_worked_case,
    "job": _job,
    "result": lambda path: load_result(str(path), "word"),
    "script_words": _in_folder(load_script_words, "scripts"),
    "unknowns": _in_folder(load_unknowns, "scripts"),
    "survey": _in_folder(load_survey),
    "textbook": _in_folder(load_textbook),
    "fault_rule": _rule(FaultRule),
    "cause_rule": _rule(CauseRule),
    "test_rule": _rule(TestRule),
    "step_rule": _rule(StepRule),
    "complaint_rule": _rule(ComplaintRule),
    "caution_rule": _rule(Caution),
}

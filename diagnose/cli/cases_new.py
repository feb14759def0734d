"""`diagnose cases new` and `seal`: a case written by questions, and one whose answer is not readable in its file."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from diagnose.basics.errors import BadInput, Problem, printable

if TYPE_CHECKING:
    from diagnose.cli.asker import Asker
    from diagnose.model.fault import FaultAt

__all__ = ["new_case", "seal_case"]

_SECRET = ("faults", "seed", "teaches", "misread", "replaces")
_SKILLS_HINT = "Which skills does it teach? (by comma: {})"


def new_case(file: str, answers: str | None, force: bool, plain: bool) -> int:
    """Ask for a case and write it; nothing is written before the last answer."""
    from diagnose.cli.asker import EndOfAnswers, open_asker
    from diagnose.store.answers import load_answers
    from diagnose.store.new_file import refuse_taken, write_new

    refuse_taken(file, force)
    asker = open_asker(plain, None if answers is None else load_answers(answers))
    try:
        text = _asked(asker, re.sub(r"[^a-z0-9-]+", "-", Path(file).stem.lower()).strip("-") or "case-1")
    except EndOfAnswers as end:
        asker.say(f"({end}: nothing is written)")
        return 0
    write_new(file, text, force)
    asker.say(f"Written: {file}. Check that it can be solved: diagnose cases check {file} --solve")
    return 0


def _asked(asker: Asker, name: str) -> str:
    """Ask all questions and return the text of the file."""
    from diagnose.cli.loading import chosen_tools, rule_base
    from diagnose.cli.practice_acts import ActReader
    from diagnose.cli.walk_answers import Answers
    from diagnose.store.installations import layout_ids, load_layout
    from diagnose.store.practice_cases import load_practice_rules

    rules, skills = rule_base(), load_practice_rules().skills
    title = asker.ask("What is its title?", ())
    story = asker.ask("What is the story, in one line?", ())
    layout = asker.ask(_lines(f"Which layout? ({', '.join(layout_ids())})"), layout_ids(), _one_of(layout_ids()))
    complaint = asker.ask("What is the complaint, in the owner's words?", ())
    reader = ActReader(Answers(load_layout(layout), rules))
    faults: list[tuple[FaultAt, str]] = []
    while len(faults) < 3:
        typed = asker.ask(
            "A fault: FAULT PART [END]; or done", ("done",), lambda t: reader.fault(t.split())
        )  # fmt: skip
        if typed == "done":
            break
        fault = reader.fault(typed.split())
        size = ""
        if rules.faults[fault.fault].size is not None:
            size = asker.ask("How large, with its unit? (Enter: drawn)", (), blank=True)
        faults.append((fault, size))
    tools = asker.ask("Which tools? (Enter: multimeter, clamp, eyes, hands)", (), _tools_check, blank=True)
    teaches = asker.ask(_lines(_SKILLS_HINT.format(", ".join(skills))), (), _each_of(tuple(skills)), blank=True)
    level = asker.ask("Level, 1 to 5?", (), _one_of(("1", "2", "3", "4", "5")))
    seed = asker.ask("Seed of the vehicle, a whole number? (Enter: 1)", (), _whole, blank=True)
    chosen = chosen_tools(tools or None)
    lines = [
        f"id: {name}", f"title: {_quoted(title)}", f"story: {_quoted(story)}", f"installation: {layout}",
        f"complaint: {_quoted(complaint)}", f"faults: [{', '.join(_fault(f, s) for f, s in faults)}]",
        f"seed: {seed or 1}", f"level: {level}", f"teaches: [{teaches}]", f"tools: [{', '.join(chosen)}]",
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def _lines(question: str) -> str:
    """Return a question broken into lines that fit a terminal."""
    from diagnose.cli.practice_run import width
    from diagnose.present.walk_words import wrapped

    return "\n".join(wrapped(question, width()))


def _fault(fault: Any, size: str) -> str:
    keys = {"fault": fault.fault, "part": fault.part, "at": fault.at or "null"}
    keys |= {"to": fault.to} if fault.to else {}
    keys |= {"size": _quoted(size)} if size else {}
    return "{" + ", ".join(f"{key}: {value}" for key, value in keys.items()) + "}"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _one_of(known: tuple[str, ...]):  # type: ignore[no-untyped-def]
    def check(text: str) -> None:
        if text not in known:
            raise ValueError(f"write one of {', '.join(known)}")

    return check


def _each_of(known: tuple[str, ...]):  # type: ignore[no-untyped-def]
    def check(text: str) -> None:
        wrong = [each.strip() for each in text.split(",") if each.strip() not in known]
        if wrong:
            raise ValueError(f"`{wrong[0]}` is none, write some of {', '.join(known)}")

    return check


def _tools_check(text: str) -> None:
    from diagnose.cli.loading import chosen_tools

    try:
        chosen_tools(text)
    except BadInput as error:
        raise ValueError(error.problems[0].text()) from None


def _whole(text: str) -> None:
    if not text.isdecimal():
        raise ValueError("write a whole number")


def seal_case(name: str, file: str, force: bool) -> int:
    """Write a case whose answer is not readable: for an examination."""
    from diagnose.cli.loading import rule_base
    from diagnose.store.new_file import write_new
    from diagnose.store.practice_cases import case_path, load_practice_case, load_practice_rules
    from diagnose.store.practice_seal import sealed
    from diagnose.store.yaml_text import read_yaml

    path = case_path(name)
    case = load_practice_case(path, rule_base(), load_practice_rules()).case
    if case.sealed is not None or case.exam:
        raise BadInput([Problem(name, None, None, "this case is sealed already", "use it as it is")])
    raw = read_yaml(path).data
    if isinstance(case.installation, dict):
        right = "name a layout under installation"
        raise BadInput([Problem(name, None, None, "a case with an installation of its own cannot be sealed", right)])
    inside = {key: raw[key] for key in _SECRET if key in raw}
    lines = [
        f"id: {case.id}", f"title: {_quoted(case.title)}", f"story: {_quoted(' '.join(case.story.split()))}",
        f"installation: {case.installation}", f"complaint: {_quoted(case.complaint or 'none')}", f"level: {case.level}",
        f"tools: [{', '.join(case.tools)}]", "exam: true", f"sealed: {sealed(inside, case.id)}",
    ]  # fmt: skip
    write_new(file, "\n".join(lines) + "\n", force)
    typer.echo(f"Sealed: {printable(file)}")
    sys.stdout.flush()
    return 0

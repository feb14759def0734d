"""`diagnose new`: a dozen plain questions, and a commented installation file; or the same as a sheet to fill in."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diagnose.basics.errors import BadInput, Problem, printable

if TYPE_CHECKING:
    from diagnose.cli.asker import Asker
    from diagnose.cli.survey_dialogue import Told
    from diagnose.model.survey import Survey
    from diagnose.model.surveyed import Surveyed

__all__ = ["new"]

INTRODUCTION = """\
A dozen short questions about what is fitted. Enter takes what is offered, ? says that it is not known; help, why,
back and stop work at every question. Nothing is written before the last answer. Read labels and measure with a tape,
engine off; open nothing, loosen nothing, pull no fuse. Local wiring rules, the makers' instructions and licensed
practice come first."""


def new(
    file: Annotated[str | None, typer.Argument(help="The installation file to write.")] = None,
    answers: Annotated[
        str | None, typer.Option("--answers", help="A file of answers, one a line, in place of typing them.")
    ] = None,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
    form: Annotated[bool, typer.Option("--form", help="Print the questions as a sheet to fill in by hand.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there already.")] = False,
) -> int:
    """Describe an installation by answering a dozen questions; what is not known is kept as a range.

    Example: diagnose new my_van.yaml
    """
    from diagnose.store.survey import load_survey

    if form:
        from diagnose.present.survey_sheet import sheet_lines

        if file is not None:
            right = "leave it out; `diagnose new --form > sheet.txt` keeps the sheet"
            raise BadInput([Problem("FILE", None, None, "the sheet is printed and not written to a file", right)])
        typer.echo("\n".join(sheet_lines(load_survey(), _width())))
        return 0
    if file is None:
        right = "name the file to write, for example: diagnose new my_van.yaml"
        raise BadInput([Problem("FILE", None, None, "it is missing", right)])
    return _survey(file, answers, plain, force, load_survey())


def _survey(file: str, answers: str | None, plain: bool, force: bool, survey: Survey) -> int:
    """Ask, describe, and write the file; what goes wrong on the way leaves nothing behind."""
    from diagnose.cli.asker import EndOfAnswers, open_asker
    from diagnose.cli.survey_dialogue import Stopped
    from diagnose.store.answers import load_answers
    from diagnose.store.new_file import refuse_taken

    refuse_taken(file, force)
    asker = open_asker(plain, None if answers is None else load_answers(answers))
    try:
        told = _ask(asker, survey)
    except Stopped:
        asker.say("stopped: nothing was written")
        return 130
    except EndOfAnswers as end:
        about = "answers" if answers is None else "--answers"
        right = "answer every question, an empty line takes what is offered"
        raise BadInput([Problem(about, None, None, f"{end}, nothing was written", right)]) from None
    _write(asker, survey, told, file, force)
    return 0


def _ask(asker: Asker, survey: Survey) -> Told:
    import textwrap

    from diagnose.cli.survey_dialogue import ask_survey
    from diagnose.store.data_folder import rules_folder
    from diagnose.store.installations import load_layout
    from diagnose.store.tables import load_tables
    from diagnose.survey.layout import plain_parts

    width = _width()
    tables = load_tables(rules_folder())
    asker.say("\n".join(textwrap.wrap(INTRODUCTION, width)))

    def open_layout(layout: str) -> dict[str, dict[str, Any]]:
        return plain_parts(load_layout(layout))

    return ask_survey(asker, survey, open_layout, lambda name: tables.number("batteries", name), width)


def _write(asker: Asker, survey: Survey, told: Told, file: str, force: bool) -> None:
    """Write the file once it is known to load again, and say what comes next."""
    from diagnose.store.installation_text import installation_text
    from diagnose.store.installations import installation_from_mapping
    from diagnose.store.new_file import write_new
    from diagnose.store.yaml_text import yaml_document
    from diagnose.survey.describe import describe

    found = describe(survey, told.answers, _title(file), told.layout, told.parts)
    text = installation_text(found)
    document = yaml_document(text, file)
    installation_from_mapping(document.data, document, ())
    write_new(file, text, force)
    _tell(asker, told, found, file)


def _tell(asker: Asker, told: Told, found: Surveyed, file: str) -> None:
    """Say what was written, what is to be seen to, and what comes next."""
    import textwrap

    from diagnose.store.installation_text import check_options

    width = _width()
    origins: list[str] = [answer.origin for answer in told.answers.values()]
    counts = ", ".join(
        f"{origins.count(origin)} {said}"
        for origin, said in (("answered", "answered"), ("default", "as offered"), ("not_known", "not known"))
    )
    asker.say(f"\nwritten: {printable(file)}", style="bold")
    lines = [f"It starts from the layout {found.layout}; values: {counts}."]
    lines += [f"See to it: {note}." for note in found.notes]
    lines.append("At its end stand the values that were not asked: compare them with the vehicle.")
    for line in lines:
        asker.say("\n".join(textwrap.wrap(line, width)))
    asker.say(f"Next: diagnose check {shlex.quote(file)} {check_options(found)}".rstrip())


def _title(file: str) -> str:
    """Return a title from a file's name: `wetland_cab.yaml` is the `Wetland cab`."""
    words = " ".join(re.split(r"[\s_-]+", printable(Path(file).stem))).strip()
    return (words[:1].upper() + words[1:])[:200] or "Untitled"


def _width() -> int:
    return min(max(shutil.get_terminal_size((80, 24)).columns, 40), 80)

"""Which installation a walk is of, where none was named: a layout picked by one plain question, or adapted on the spot.

The questions and what they amount to are those of `diagnose new`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from diagnose.cli.asker import Asker

if TYPE_CHECKING:
    from diagnose.model.installation import Installation
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["pick_installation"]


def pick_installation(asker: Asker, width: int, rules: RuleFolders) -> tuple[str, str | None, Installation]:
    """Return the name of a layout, the text of its adaptation (None where it is taken as it ships), the installation.

    Raises: EndOfAnswers.
    """
    from diagnose.present.walk_words import wrapped
    from diagnose.store.installations import load_layout
    from diagnose.store.survey import load_survey

    survey = load_survey()
    places = survey.choices["places"]
    numbers = {str(number): word for number, word in enumerate(places, 1)}
    asker.say("Where is the second battery, and how is it charged?")
    for number, (word, place) in enumerate(places.items(), 1):
        asker.say("\n".join(wrapped(f"{number:2d} {word:<10} {place.says}", min(width, 80), "  ", " " * 14)))

    def check(text: str) -> None:
        if text not in numbers and text.strip() != "adapt":
            raise ValueError("type a number or a word of the list; or adapt, to describe what differs")

    prompt = "Which comes nearest? (a number or word; or adapt, to describe your own by a dozen questions)"
    text = asker.ask(prompt, (*places, "adapt"), check)
    if text == "adapt":
        return _adapted(asker, survey, min(width, 80), rules)
    layout = str(places[numbers.get(text, text)].layout)
    return layout, None, load_layout(layout, rules)


def _adapted(asker: Asker, survey: Any, width: int, rules: RuleFolders) -> tuple[str, str, Installation]:
    """Return an installation that was described by the survey."""
    from diagnose.cli.asker import EndOfAnswers
    from diagnose.cli.survey_dialogue import Stopped, ask_survey
    from diagnose.store.installation_text import installation_text
    from diagnose.store.installations import installation_from_mapping, load_layout
    from diagnose.store.tables import load_tables
    from diagnose.store.yaml_text import yaml_document
    from diagnose.survey.describe import describe
    from diagnose.survey.layout import plain_parts

    tables = load_tables(rules)
    try:
        told = ask_survey(
            asker, survey, lambda layout: plain_parts(load_layout(layout, rules)),
            lambda name: tables.number("batteries", name), width,
        )  # fmt: skip
    except Stopped:
        raise EndOfAnswers("stopped") from None
    found = describe(survey, told.answers, "Described on the spot", told.layout, told.parts)
    text = installation_text(found)
    document = yaml_document(text, "the description")
    return told.layout, text, installation_from_mapping(document.data, document, ())


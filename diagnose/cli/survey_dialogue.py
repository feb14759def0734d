"""The dialogue of the survey: asks one question after another, goes back, explains, and takes Enter and "don't know".

It knows no particular question: those are data. What the answers amount to is the business of `survey`.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from diagnose.cli.asker import Asker, EndOfAnswers, possible_words
from diagnose.survey.defaults import Figures, asked_fields, default_answer, settled
from diagnose.survey.reading import read_answer, shown_value

if TYPE_CHECKING:
    from diagnose.model.survey import Answer, Survey, SurveyField, Topic
    from diagnose.survey.layout import Parts

__all__ = ["Stopped", "Told", "ask_survey"]

WORDS = ("help", "why", "back", "stop")
_MOST_TURNS = 500  # answers in one survey, so that an endless stream of `help` ends too


class Stopped(Exception):  # noqa: N818 - what the person asked for, not an error
    """The person typed stop."""


class Told(NamedTuple):
    """What was told: the layout to start from, its parts, and an answer for each field that was asked."""

    layout: str
    parts: Parts
    answers: dict[str, Answer]


class _Setting(NamedTuple):
    """What one question needs beside itself: where to ask, the survey, the figures, the width [columns]."""

    asker: Asker
    survey: Survey
    figures: Figures
    width: int


def ask_survey(
    asker: Asker, survey: Survey, open_layout: Callable[[str], Parts], figures: Figures, width: int
) -> Told:
    """Ask the whole survey.

    Parameters: `asker`; `survey`; `open_layout`, from a layout's id to its parts as plain data; `figures` of the
    battery table; `width` [columns].
    Raises: EndOfAnswers, which says at which question; Stopped; KeyboardInterrupt.
    """
    at = _Setting(asker, survey, figures, width)
    told = Told("", {}, {})
    kept: dict[str, dict[str, Answer]] = {}
    number, step = 0, 1
    turns = 0
    while number < len(survey.topics):
        turns += 1
        if turns > _MOST_TURNS:
            raise EndOfAnswers(f"more than {_MOST_TURNS} answers were given")
        topic = survey.topics[number]
        told = told._replace(answers=_before(survey, kept, number))
        fields = asked_fields(topic.fields, told.layout, told.parts, told.answers)
        if not fields:
            kept.pop(topic.id, None)
            number = max(number + step, 0)
            continue
        found = _ask(at, topic, fields, told, kept.get(topic.id), _place(at, number, told))
        if found is None:
            if number == 0:
                asker.say("this is the first question")
            number, step = max(number - 1, 0), -1 if number else 1
            continue
        step = 1
        if "place" in found and (layout := _layout(survey, found)) != told.layout:
            told, kept = Told(layout, open_layout(layout), {}), {}
        kept[topic.id] = found
        number += 1
    return told._replace(answers=_before(survey, kept, number))


def _layout(survey: Survey, found: Mapping[str, Answer]) -> str:
    return str(survey.choices["places"][str(found["place"].value)].layout)


def _before(survey: Survey, kept: Mapping[str, dict[str, Answer]], number: int) -> dict[str, Answer]:
    """Return the answers to the questions before one."""
    return {key: answer for topic in survey.topics[:number] for key, answer in kept.get(topic.id, {}).items()}


def _place(at: _Setting, number: int, told: Told) -> str:
    """Return where in the survey a question stands: `3 of 12`."""
    topics = at.survey.topics
    if not told.layout:
        return f"{number + 1} of {len(topics)} at most"
    asked = [bool(asked_fields(topic.fields, told.layout, told.parts, {})) for topic in topics]
    return f"{sum(asked[: number + 1])} of {sum(asked)}"


def _ask(
    at: _Setting, topic: Topic, fields: Sequence[SurveyField], told: Told, before: dict[str, Answer] | None, place: str
) -> dict[str, Answer] | None:
    """Return the answers to one question, or None for back; what a line leaves out is asked for by itself."""
    while True:
        offered = before if before is not None else _offered(at, fields, told, {})
        offer = _offer(at, topic, fields, offered)
        typed = _line(at, topic, fields, "\n".join((*_question(at, topic, fields, place), offer)), offer, place)
        if typed == "back":
            return None
        found = offered if not typed else _settle(at, fields, told, read_answer(typed, fields, at.survey))
        rest = _ask_rest(at, topic, fields, told, found, place)
        if rest is not None:
            at.asker.say(_noted(at, fields, rest))
            return rest


def _ask_rest(
    at: _Setting, topic: Topic, fields: Sequence[SurveyField], told: Told, found: dict[str, Answer], place: str
) -> dict[str, Answer] | None:
    """Return the answers with those that were left out, each asked for by itself, or None for back."""
    for field in fields:
        if field.id in found or (field.only_with in found and found[str(field.only_with)].value == "none"):
            continue
        offer = _offered(at, [field], told, found)
        prompt = _wrap(at, f"and the {field.name}? Enter takes: {shown_value(offer[field.id], field)}")
        typed = _line(at, topic, [field], prompt, prompt, place)
        if typed == "back":
            return None
        given = offer if not typed else _settle(at, [field], told, read_answer(typed, [field], at.survey), found)
        found = {**found, **given}
    return {field.id: found[field.id] for field in fields if field.id in found}


def _offered(
    at: _Setting, fields: Sequence[SurveyField], told: Told, found: Mapping[str, Answer]
) -> dict[str, Answer]:
    """Return what Enter takes, each with the answers before it in mind."""
    offered: dict[str, Answer] = {}
    for field in fields:
        known = {**told.answers, **found, **offered}
        if field.only_with in known and known[str(field.only_with)].value == "none":
            continue
        offered[field.id] = default_answer(field, at.survey, told.layout, told.parts, known, at.figures)
    return offered


def _settle(
    at: _Setting,
    fields: Sequence[SurveyField],
    told: Told,
    given: Mapping[str, Answer],
    found: Mapping[str, Answer] | None = None,
) -> dict[str, Answer]:
    """Return answers with what "don't know" becomes, in the order of the fields."""
    done: dict[str, Answer] = {}
    for field in fields:
        known = {**told.answers, **(found or {}), **done}
        if field.only_with in known and known[str(field.only_with)].value == "none":
            continue
        if field.id in given:
            answer = given[field.id]
            done[field.id] = settled(answer, field, at.survey, told.layout, told.parts, known, at.figures)
    return done


def _line(at: _Setting, topic: Topic, fields: Sequence[SurveyField], prompt: str, offer: str, place: str) -> str:
    """Return a line that answers the fields, empty for Enter, or `back`; explains where that is asked for.

    `prompt` is the question in full; after an explanation the `offer`, what Enter takes, is enough.
    """

    def check(text: str) -> None:
        if _word(at, text, fields) is None:
            read_answer(text, fields, at.survey)

    def grown(text: str) -> Iterator[str]:
        return _grown(at, text, fields)

    for _ in range(_MOST_TURNS):
        try:
            text = at.asker.ask(prompt, words=(), check=check, complete=grown, blank=True)
        except EndOfAnswers as end:
            raise EndOfAnswers(f"{end} at question {place} ({topic.title.lower()})") from None
        word = _word(at, text, fields)
        if word == "stop":
            raise Stopped
        if word not in ("help", "why"):
            return word or text
        at.asker.say(_wrap(at, topic.why if word == "why" else _help(topic)))
        prompt = offer
    raise EndOfAnswers(f"no answer at question {place} ({topic.title.lower()})")


def _word(at: _Setting, text: str, fields: Sequence[SurveyField]) -> str | None:
    """Return the plain word a text stands for, or None for an answer.

    Raises: QuantityError where it may be the beginning of a plain word and of an answer.
    """
    found = possible_words(text, WORDS)
    if len(found) != 1 or text.casefold() in WORDS:
        return found[0] if len(found) == 1 else None
    answers = [word for field in fields for word in at.survey.words(field) if word.startswith(text.casefold())]
    if answers:
        raise ValueError(f"`{text}` may mean {' or '.join((*found, *answers))}, type more of it")
    return found[0]


def _grown(at: _Setting, text: str, fields: Sequence[SurveyField]) -> Iterator[str]:
    """Yield what the last word of a line may grow into."""
    start, _, last = text.rpartition(" ")
    words = [word for field in fields for word in at.survey.words(field)]
    for word in (*words, *(() if start else WORDS)):
        if word.startswith(last.casefold()):
            yield f"{start} {word}" if start else word


def _question(at: _Setting, topic: Topic, fields: Sequence[SurveyField], place: str) -> Iterator[str]:
    """Yield the lines of a question: what is asked, and the words that answer it."""
    yield ""
    yield _wrap(at, f"{place}: {topic.asks}")
    for field in fields:
        words = at.survey.words(field)
        if len(words) > 2:
            longest = max(map(len, words))
            yield from (f"  {word:<{longest}}  {choice.says}" for word, choice in words.items())


def _offer(at: _Setting, topic: Topic, fields: Sequence[SurveyField], offered: Mapping[str, Answer]) -> str:
    """Return an example of an answer, and what Enter takes."""
    taken = ", ".join(shown_value(offered[field.id], field) for field in fields if field.id in offered)
    alone = len(fields) == 1 and bool(at.survey.words(fields[0]))  # its words are examples enough
    return _wrap(at, ("" if alone else f"For example: {topic.example}. ") + f"Enter takes: {taken}")


def _help(topic: Topic) -> str:
    return (
        f"{topic.help} For example: {topic.example}. Enter takes what is offered, ? says that it is not known; why"
        " tells what it is asked for, back goes to the question before, stop ends without writing anything."
    )


def _noted(at: _Setting, fields: Sequence[SurveyField], found: Mapping[str, Answer]) -> str:
    """Return what was understood, so that a slip is seen at once."""
    said = []
    for field in fields:
        if field.id in found:
            answer = found[field.id]
            shown = shown_value(answer, field)
            said.append(f"{field.name} not known, {shown}" if answer.origin == "not_known" else shown)
    return _wrap(at, f"noted: {'; '.join(said)}")


def _wrap(at: _Setting, text: str) -> str:
    return "\n".join(textwrap.wrap(text, at.width, break_on_hyphens=False) or [""])

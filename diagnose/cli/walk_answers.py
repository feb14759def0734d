"""What is typed at a prompt of the walk, turned into an event, a command or a refusal in words.

It knows the forms of answers; what follows from one is the business of the session.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from diagnose.basics.quantities import QuantityError
from diagnose.basics.readings_text import Typed, parse_typed
from diagnose.cli.asker import possible_words
from diagnose.cli.typed_readings import read_typed
from diagnose.inference.candidates import ALL_TOOLS
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES, STATES, Read, Reading
from diagnose.model.rules import RuleBase
from diagnose.model.terminals import ends_of, points_of
from diagnose.model.words import words_for
from diagnose.present.walk_start import SIGNS, STANDING
from diagnose.session.complaints import nearest_complaints, understood_complaint
from diagnose.session.events import Event
from diagnose.session.steps import Ask

__all__ = ["ANYWHERE", "DEFAULT_TOOLS", "Answer", "Answers", "completions", "words_at"]

DEFAULT_TOOLS = ("multimeter", "clamp", "eyes", "hands")
#: words that are understood at every prompt
ANYWHERE = ("help", "why", "how", "back", "ranking", "save", "stop")
_OWN = {
    "alarm": ("none",), "complaint": ("none", "list"), "seen": ("done",), "meter": ("cannot",), "test": ("cannot",),
    "proof": ("cannot",), "doubt": ("keep", "cannot"), "again": ("keep", "cannot"), "repair": ("repaired", "leave"),
}  # fmt: skip
#: words that take something behind them
_LONG = ("why-not", "retract", "tools", "complaint", "repaired")


class Answer(NamedTuple):
    """What was typed: an event to feed, or a command with its rest; `said` is to be told back."""

    event: Event | None = None
    command: str = ""
    rest: str = ""
    said: str = ""


def words_at(ask: Ask) -> tuple[str, ...]:
    """Return the plain words a question takes, those of its own first."""
    own = _OWN.get(ask.kind, ())
    if ask.kind == "alarm":
        own += tuple(SIGNS)
    elif ask.kind == "standing":
        own += tuple(STANDING)
    elif ask.take is not None and ask.kind != "repair":
        own += words_for(ask.take.quantity, ask.take.meter)
    return tuple(dict.fromkeys((*own, *ANYWHERE)))


class Answers:
    """Reads answers for one installation; `read` raises ValueError, in words, for what is none."""

    def __init__(self, installation: Installation, rules: RuleBase) -> None:
        self.installation, self.rules = installation, rules
        self.places = tuple(dict.fromkeys(_places(installation)))

    def read(self, text: str, ask: Ask) -> Answer:
        """Return what an answer to a question stands for."""
        words = words_at(ask)
        found = possible_words(text, words)
        word = found[0] if len(found) == 1 else ""
        if word in ANYWHERE or word == "list":
            return Answer(command=word)
        first, _, rest = text.strip().partition(" ")
        long = possible_words(first, _LONG) if first and not word else ()
        if first.casefold() in ("why-not", "whynot") or (len(long) == 1 and rest):
            return self._long("why-not" if first.casefold().startswith("why") else long[0], rest, ask)
        if (reading := self._volunteered(text)) is not None:
            return reading
        return _BY_KIND[ask.kind](self, word or text.strip(), ask)

    def _long(self, word: str, rest: str, ask: Ask) -> Answer:
        if word == "why-not":
            if not rest:
                raise ValueError("name a suspect after it, for example: why-not blown input_fuse")
            return Answer(command="why-not", rest=rest)
        if word == "retract":
            if not rest.isdecimal():
                raise ValueError("give the number of a reading, for example: retract 2 (type ranking to see them)")
            return Answer(command="retract", rest=rest)
        if word == "tools":
            return Answer(Event("tools", ",".join(_tools(rest))))
        if word == "complaint":
            return self.complaint(rest, ask)
        return Answer(command="repaired", rest=rest)

    def _volunteered(self, text: str) -> Answer | None:
        """Return a reading that nobody asked for, or None where the text is no such thing."""
        tokens = text.replace(",", " ").split() if " " in text else []
        quantities = possible_words(tokens[0], QUANTITIES) if tokens else ()
        if len(quantities) != 1 or len(tokens) < 3:
            return None
        count = QUANTITIES[quantities[0]][0]
        names = [self.place(token) for token in tokens[1 : 1 + count]]
        reading, said = read_typed(" ".join([quantities[0], *names, *tokens[1 + count :]]), self.installation)
        if reading is None:
            raise ValueError(said)
        return Answer(Event("reading", text, reading), said=said)

    def place(self, token: str) -> str:
        """Return the one place a beginning stands for."""
        if token in self.places:
            return token
        grown = [place for place in self.places if place.startswith(token)]
        plain = [place for place in grown if "@" not in place] or grown
        if len(plain) == 1:
            return plain[0]
        if plain:
            raise ValueError(f"`{token}` may mean {', '.join(plain[:6])}, type more of it")
        return token

    def alarm(self, text: str, ask: Ask) -> Answer:
        """Return the answer to the question about danger."""
        if text in ("no", "nothing", "none"):
            return Answer(Event("alarm", "none"))
        close = difflib.get_close_matches(text.casefold(), SIGNS, 1, 0.75)
        if text in SIGNS or close:
            return Answer(Event("alarm", text if text in SIGNS else close[0]))
        raise ValueError(f"type none, or what it is: {', '.join(SIGNS)}")

    def standing(self, text: str, ask: Ask) -> Answer:
        """Return where it stands."""
        if text not in STANDING:
            raise ValueError(f"type {', '.join(STANDING)}; a beginning is enough")
        return Answer(Event("standing", text))

    def tools(self, text: str, ask: Ask) -> Answer:
        """Return the tools at hand."""
        tools = _tools(text)
        return Answer(Event("tools", ",".join(tools)), said=f"taken: {', '.join(tools)}")

    def meter(self, text: str, ask: Ask) -> Answer:
        """Return what the meter showed on a known battery; what no good battery shows is refused, with the likely
        slip.
        """
        typed = _typed(text, "V", ())
        if typed.kind == "skipped":
            return Answer(Event("meter", text), said="not proved: take every value with a grain of salt")
        if typed.value is None or not 11.8 <= typed.value <= 14.9:
            raise ValueError(
                f"{text} is not what a good 12 V battery shows: look at the sockets, the dial, the minus sign and the "
                "meter's own cell, or use another battery; cannot goes on without"
            )
        return Answer(Event("meter", text, Reading(None, _read_of(typed))), said="the meter is proved")

    def complaint(self, text: str, ask: Ask) -> Answer:
        """Return the complaint, and what was understood."""
        if text == "none":
            return Answer(Event("complaint", ""), said="no complaint: all faults count by how often they occur")
        if text.isdecimal() and understood_complaint(text, self.rules) is None:
            raise ValueError(f"there is no number {text}, type list to see them")
        rule = understood_complaint(text, self.rules)
        if rule is not None:
            return Answer(Event("complaint", rule.id), said=f"understood as: {rule.says.rstrip('.')}")
        near = nearest_complaints(text, self.rules)
        numbers = {r.id: n for n, r in enumerate(self.rules.complaints.values(), 1)}
        if near and not text.endswith("!"):
            offers = "; ".join(f"{numbers[r.id]} {r.says}" for r in near)
            raise ValueError(f"not understood. Nearest are: {offers} Type a number; or your words with ! to keep them")
        return Answer(Event("complaint", text.rstrip("!") or "unknown"), said="kept as told; it weighs nothing")

    def seen(self, text: str, ask: Ask) -> Answer:
        """Return that nothing more was seen; readings were read before."""
        if text in ("done", "none", "nothing", "no"):
            return Answer(Event("seen"))
        raise ValueError("begin with what was measured: volts, amps, look, lamp and so on; or type done")

    def reading(self, text: str, ask: Ask) -> Answer:
        """Return a reading that was asked for."""
        take = ask.take
        assert take is not None
        if text == "cannot":
            return Answer(Event("cannot", text, Reading(take, Read("skipped", "skipped"))))
        if text == "keep":
            return Answer(Event("keep", "", ask.pending if ask.kind == "again" else None))
        typed = _typed(text, QUANTITIES[take.quantity][1], words_for(take.quantity, take.meter))
        if typed.kind == "skipped":
            return Answer(Event("cannot", text, Reading(take, _read_of(typed))))
        return Answer(Event("reading", text, Reading(take, _read_of(typed))))

    def repair(self, text: str, ask: Ask) -> Answer:
        """Return whether the fault was mended."""
        finding = ask.finding
        assert finding is not None
        assert finding.entry is not None
        fault = finding.entry.fault._replace(size=None)
        if text in ("repaired", "yes", "done"):
            return Answer(Event("repaired", fault=fault))
        if text in ("leave", "no"):
            return Answer(Event("leave", fault=finding.entry.fault))
        raise ValueError("type repaired when it is mended, or leave; a further reading is taken too")


def _typed(text: str, unit: str | None, words: tuple[str, ...]) -> Typed:
    try:
        return parse_typed(text, unit, words)
    except QuantityError as error:
        raise ValueError(f"{error.what}, {error.right}") from None


def _read_of(typed: Typed) -> Read:
    text = f"{typed.text} {typed.unit}" if typed.assumed and typed.unit else typed.text
    return Read(typed.kind, text, typed.value, typed.high, typed.word)


def _tools(text: str) -> tuple[str, ...]:
    """Return the tools that a list names; `plus` and `minus` change those that most people carry."""
    tokens = text.replace(",", " ").replace("+", " plus ").split()
    if not tokens:
        return DEFAULT_TOOLS
    if tokens == ["all"]:
        return ALL_TOOLS
    tools = list(DEFAULT_TOOLS) if tokens[0] in ("plus", "minus") else []
    sign = "plus"
    for token in tokens:
        if token in ("plus", "minus"):
            sign = token
            continue
        found = possible_words(token, ALL_TOOLS) or tuple(difflib.get_close_matches(token, ALL_TOOLS, 1, 0.7))
        if len(found) != 1:
            raise ValueError(f"`{token}` is no tool, known are {', '.join(ALL_TOOLS)}")
        tools = [tool for tool in tools if tool != found[0]] + ([found[0]] if sign == "plus" else [])
    if not tools:
        raise ValueError(f"at least eyes are needed, known are {', '.join(ALL_TOOLS)}")
    return tuple(tools)


def _places(installation: Installation) -> Iterator[str]:
    yield from installation.points
    yield from installation.parts
    for name, part in installation.parts.items():
        yield from points_of(part)
        if part.kind in ("cable", "fuse"):
            yield from (f"{name}@{end}" for end in ends_of(part))


def completions(answers: Answers, ask: Ask) -> Callable[[str], Iterable[str]]:
    """Return what a beginning may grow into: words of the question, and the parts of a reading one after another."""

    def grown(text: str) -> list[str]:
        head, blank, last = text.rpartition(" ")
        tokens = head.split()
        if not tokens:
            return [w for w in (*words_at(ask), *_LONG, *QUANTITIES) if w.startswith(last)]
        quantity = possible_words(tokens[0], QUANTITIES)
        if len(quantity) != 1:
            return []
        count = QUANTITIES[quantity[0]][0]
        known = answers.places if len(tokens) <= count else STATES if len(tokens) > count + 1 else ()
        return [f"{head}{blank}{name}" for name in known if name.startswith(last)]

    return grown


_BY_KIND: dict[str, Callable[[Answers, str, Ask], Answer]] = {
    "alarm": Answers.alarm, "standing": Answers.standing, "tools": Answers.tools, "meter": Answers.meter,
    "complaint": Answers.complaint, "seen": Answers.seen, "test": Answers.reading, "doubt": Answers.reading,
    "again": Answers.reading, "proof": Answers.reading, "repair": Answers.repair,
}  # fmt: skip

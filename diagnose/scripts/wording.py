"""What a card says: to an owner by the words of the rule base, to an installer by the test's own instruction.

Words are put together here and nowhere else in this folder; what is asked was chosen before.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

from diagnose.basics.quantities import Span
from diagnose.circuit.topology import start_batteries, zone_of
from diagnose.model.installation import Installation, name_of
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.model.script import UNKNOWN
from diagnose.model.script_words import Card, ForReader, ScriptWords
from diagnose.model.states import OPERATING_STATES
from diagnose.model.terminals import pairs_of
from diagnose.model.unknowns import Unknown
from diagnose.scripts.places import place_among, thing_at
from diagnose.session.cautions import for_take

__all__ = ["Wording", "band_label", "labels_for"]

Told = TypeVar("Told")

#: area [mm2] from which an owner calls a cable thick
THICK = 9.0
#: words of an owner's card at most
CARD_WORDS = 15


def labels_for(take: Take, words: ScriptWords, danger: bool) -> tuple[str, ...]:
    """Return the words that an owner can answer a test with; none for a number."""
    return tuple(_card(take, words, danger).answers)


def _card(take: Take, words: ScriptWords, danger: bool) -> Card:
    if danger:
        return words.danger[take.quantity]
    own = words.cards["test_lamp"] if take.meter == "test_lamp" else words.cards.get(take.when)
    return own or words.cards[take.quantity]


def band_label(low: float | None, high: float | None, unit: str) -> str:
    """Return what a band is called.

    >>> band_label(None, 12.2, "V"), band_label(12.2, 12.8, "V"), band_label(12.8, None, "V")
    ('below 12.2 V', '12.2 V to below 12.8 V', '12.8 V or more')
    """
    if low is None:
        return f"below {high:g} {unit}" if high is not None else "any number"
    return f"{low:g} {unit} or more" if high is None else f"{low:g} {unit} to below {high:g} {unit}"


@dataclass(frozen=True)
class Wording:
    """Everything that cards of one installation are worded with; `owner`: whether the person is one.

    `unknowns` are the questions about what is fitted, `fitted` the installations it may be, all with the same names.
    """

    installation: Installation
    rules: RuleBase
    words: ScriptWords
    owner: bool
    unknowns: Mapping[str, Unknown]
    fitted: tuple[Installation, ...]

    def told(self, both: ForReader[Told]) -> Told:
        """Return what is told to the reader that this is for."""
        return both.owner if self.owner else both.installer

    def cautions(self, take: Take) -> tuple[str, ...]:
        """Return the ids of the cautions before a test, whatever is fitted; a question about that needs none."""
        if take.quantity == UNKNOWN:
            return ()
        found = [name for one in self.fitted for name in for_take(take, one, self.rules)]
        return tuple(dict.fromkeys(found))

    def say(self, take: Take, danger: bool = False) -> str:
        """Return what is said on a card: one act, at most 15 words for an owner."""
        if take.quantity == UNKNOWN:
            return self.unknowns[take.where[0]].say
        if not (self.owner or danger):
            return f"{self.rules.tests[take.quantity].name.capitalize()}: {self._places(take)}"
        text = _card(take, self.words, danger).say
        before, thing = self.words.before.get(take.when, ""), self.thing(take)
        place = self._told_apart[self.part_of(take)]
        ways = [text.format(before=before, thing=thing + place)]
        if text.startswith("{before}, "):
            ways += [text.removeprefix("{before}, ").format(thing=thing + one) for one in dict.fromkeys((place, ""))]
        said = next((way for way in ways if len(re.findall(r"[\w'-]+", way)) <= CARD_WORDS), ways[-1])
        return said[:1].upper() + said[1:]

    def how(self, take: Take, danger: bool = False) -> str:
        """Return how it is done, the vehicle's state first, then where the thing is."""
        if take.quantity == UNKNOWN:
            return self.unknowns[take.where[0]].how
        if not (self.owner or danger):
            return f"{OPERATING_STATES[take.when].says.capitalize()}. {self.rules.tests[take.quantity].how}"
        state = "" if danger else self.words.prepare.get(take.when, "") + " "
        return f"{state}{self._where(take)}{_card(take, self.words, danger).how}"

    def label(self, take: Take, word: str, danger: bool = False) -> str:
        """Return what an answer is called."""
        if word == "skipped":
            return self.words.cannot
        if word == "unsteady":
            return self.words.unsteady
        if take.quantity == UNKNOWN:
            return self.unknowns[take.where[0]].answers[word].label
        if not (self.owner or danger):
            return word.replace("_", " ")
        return _card(take, self.words, danger).answers[word]

    def _places(self, take: Take) -> str:
        names = [self._place(place) for place in take.where]
        return names[0] if len(names) == 1 else f"red on {names[0]}, black on {names[1]}"

    def _place(self, place: str) -> str:
        part, _, end = place.partition("@")
        if end:
            return f"{name_of(part, self.installation)}, its end at {name_of(end, self.installation)}"
        return name_of(place, self.installation)

    def part_of(self, take: Take) -> str:
        """Return the part that a card is about."""
        parts = self.installation.parts
        if take.quantity == "lamp":
            own = take.where[0].partition(".")[0]
            return own if own in parts else next(n for n, p in parts.items() if p.kind == "charger")
        if len(take.where) == 2:
            return next((n for n, p in parts.items() if set(take.where) in map(set, pairs_of(p).values())), "")
        return take.where[0].partition("@")[0]

    def thing(self, take: Take) -> str:
        """Return what an owner calls the thing that a card is about: by colour, size and place, not by trade."""
        name = self.part_of(take)
        pairs = pairs_of(self.installation.parts[name])
        side = next((side for side, pair in pairs.items() if set(pair) == set(take.where)), "")
        return self.words.things.get(f"charger_{side}", self.named(name))

    def named(self, name: str) -> str:
        """Return what an owner calls a part, or a point."""
        return self._names[name] if name in self._names else self._point(name)

    @cached_property
    def _names(self) -> dict[str, str]:
        """What an owner calls each part; worked out once, as each name is asked for on many cards."""
        starters = start_batteries(self.installation)
        return {name: self._name(name, starters) for name in self.installation.parts}

    def _name(self, name: str, starters: Collection[str]) -> str:
        part: Any = self.installation.parts[name]
        things, kind = self.words.things, part.kind
        if kind == "battery" and name in starters:
            kind = "start_battery"
        elif kind == "cable":
            area = part.area.high if isinstance(part.area, Span) else 0.0
            kind = "thick_cable" if area >= THICK else "thin_cable"
        elif kind == "contact" and any("panel" in end for end in part.ends):
            kind = "panel_contact"
        text = things.get(kind, "the {name}")
        size = f"{part.rating.low:g}" if part.kind == "fuse" and isinstance(part.rating, Span) else ""
        return text.format(size=size, name=name_of(name, self.installation).replace(" and ", ", "))

    def _point(self, name: str) -> str:
        """Return what an owner calls a point: by its name on the plan, save where that is one of the trade."""
        said = name_of(name, self.installation)
        if not set(said.lower().replace("-", " ").split()) & set(self.words.trade):
            return f"the {said}"
        zone = self.installation.zones.get(self.installation.points[name].zone or "")
        where = f" in the {zone.name}" if zone is not None and zone.name else ""
        return self.words.things["point"] + where

    def placed(self, name: str) -> str:
        """Return what an owner calls a part, told from others that are called the same."""
        return self.named(name) + self._told_apart[name]

    @cached_property
    def _told_apart(self) -> dict[str, str]:
        """What tells each part from those that are called the same."""
        like: dict[str, list[str]] = {}
        for name, said in self._names.items():
            like.setdefault(said, []).append(name)
        return {
            name: place_among(name, like[said], self.named, self.installation) for name, said in self._names.items()
        }

    def _where(self, take: Take) -> str:
        """Return one sentence on where the thing is; nobody looks at an engine that is cranked."""
        if take.when == "cranking":
            return ""
        name = self.part_of(take)
        part = self.installation.parts[name]
        if part.kind == "cable":
            near = [thing_at(end, name, self.named, self.installation) for end in part.ends]
            return f"It runs from {near[0]} to {near[1]}. "
        zone = self.installation.zones.get(zone_of(self.installation, name) or "")
        return f"It is in the {zone.name}. " if zone is not None and zone.name else ""

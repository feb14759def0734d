"""An act typed at the prompt of practice: `volts charger_in charger_neg running`, `repair blown input_fuse`, and so on.

It knows the forms of acts, shortened names among them; what comes of an act is the business of the room.
"""

from __future__ import annotations

import re

from diagnose.basics.errors import BadInput
from diagnose.cli.asker import possible_words
from diagnose.cli.loading import entry_reading
from diagnose.cli.walk_answers import Answers
from diagnose.model.fault import FaultAt
from diagnose.model.parts import Charger
from diagnose.model.practice import Act
from diagnose.model.reading import QUANTITIES, STATES, Take
from diagnose.prediction.hypotheses import all_hypotheses
from diagnose.store.reading_places import ReadingPlaces

__all__ = ["ACTS", "HELP", "ActReader"]

ACTS = ("state", "jumper", "swap", "remove", "zero", "repair", "diagnosis", "suspects", "stop", "test_lamp")
_NONE = ("none", "nothing", "sound", "no_fault")
HELP = """\
Measure, in the state you put the vehicle into or named last; at first all is
off:
  volts A B [STATE]     amps PART [STATE]     ohms A B        ripple A B
  celsius PART          lamp [NAME]           works LOAD      test_lamp A B
  look PART             look PART@POINT       smell PART      tug PART@POINT
  wiggle PART@POINT     load_test BATTERY     gravity BATTERY
Change:
  state NAME          at_rest, key_on, running, idle, running_loaded, loaded,
                      cranking, mains_on, sun_only, engine_and_sun, isolated
                      (leads off, for ohms)
  zero                zero the clamp
  jumper A B          bridge two points; swap PART fits a known-good part
  remove              take away the jumper or the known-good part
  repair FAULT PART [END]
Conclude:
  suspects FAULT PART [END], FAULT PART [END]
  diagnosis FAULT PART [END] CONFIDENCE     such as diagnosis blown fuse_1 80 %
  diagnosis none CONFIDENCE                 where nothing is wrong
  stop                                      when you are done
Also: help, points, faults, cautions. Beginnings of words are enough."""


class ActReader:
    """Reads acts on one installation; `read` raises ValueError, in words, for what is none."""

    def __init__(self, answers: Answers) -> None:
        """Prepare for the installation of some answers."""
        self.answers, self.installation, self.rules = answers, answers.installation, answers.rules
        self._places = ReadingPlaces(self.installation)
        hypotheses = all_hypotheses(self.installation, self.rules)
        self._faults = tuple(h.fault for h in hypotheses if h.fault is not None)

    def read(self, text: str, state: str | None) -> Act:
        """Return the act that a line stands for; `state` is the one the vehicle is in."""
        tokens = text.replace(",", " , ").replace(";", " , ").split()
        if not tokens:
            raise ValueError("type an act, or help")
        found = possible_words(tokens[0], (*QUANTITIES, *ACTS))
        if len(found) != 1:
            may = f"may mean {', '.join(found)}" if found else "is no act; type help to see them"
            raise ValueError(f"`{tokens[0]}` {may}")
        word, rest = found[0], tokens[1:]
        if word in QUANTITIES or word == "test_lamp":
            return Act("measure", text, self._take(word, [t for t in rest if t != ","], state))
        return getattr(self, f"_{word}")(text, rest)  # type: ignore[no-any-return]

    def _take(self, word: str, rest: list[str], state: str | None) -> Take:
        quantity = "volts" if word == "test_lamp" else word
        count = QUANTITIES[quantity][0]
        when = state or ("isolated" if quantity == "ohms" else "at_rest")
        if len(rest) == count + 1 or (quantity == "lamp" and len(rest) == 1 and _state(rest[-1])):
            named = _state(rest[-1])
            if not named:
                raise ValueError(f"`{rest[-1]}` is no state, known are {', '.join(STATES)}")
            when, rest = named, rest[:-1]
        if quantity == "lamp" and not rest:
            chargers = [n for n, p in self.installation.parts.items() if isinstance(p, Charger)]
            rest = ["charging"] if len(chargers) == 1 else rest
        if len(rest) != count:
            right = "two places" if count == 2 else "one place"
            raise ValueError(f"{word} needs {right}, for example {_EXAMPLES.get(quantity, 'look input_fuse')}")
        places = rest if quantity == "lamp" else [self.answers.place(token) for token in rest]
        entry = {
            quantity: places if count == 2 else places[0], "when": "isolated" if quantity == "ohms" else when
        }  # fmt: skip
        if word == "test_lamp":
            entry["meter"] = "test_lamp"
        try:
            take = entry_reading(entry, self.installation, "this", needs_read=False).take
        except BadInput as error:
            raise ValueError("; ".join(p.text() for p in error.problems)) from None
        assert take is not None
        return take._replace(when=when)

    def _state(self, text: str, rest: list[str]) -> Act:
        named = _state("_".join(rest))
        if not named:
            raise ValueError(f"`{' '.join(rest)}` is no state, known are {', '.join(STATES)}")
        return Act("state", text, state=named)

    def _jumper(self, text: str, rest: list[str]) -> Act:
        places = [self.answers.place(token) for token in rest]
        if len(places) != 2 or places[0] == places[1]:
            raise ValueError("a jumper needs two different places, for example jumper tray chassis")
        for place in places:
            if (wrong := self._places.probe(place)) is not None:
                raise ValueError(f"{wrong[0]}, {wrong[1]}")
        said = self._places.jumper(*places)
        return Act("jumper", text, pair=(places[0], places[1]), danger=said[0] if said else "")

    def _swap(self, text: str, rest: list[str]) -> Act:
        part = self.answers.place(rest[0]) if len(rest) == 1 else ""
        if part not in self.installation.parts:
            raise ValueError("swap needs one part, for example swap input_fuse")
        return Act("swap", text, part=part)

    def _remove(self, text: str, rest: list[str]) -> Act:
        return Act("remove", text)

    def _zero(self, text: str, rest: list[str]) -> Act:
        return Act("zero", text)

    def _stop(self, text: str, rest: list[str]) -> Act:
        return Act("stop", text)

    def _repair(self, text: str, rest: list[str]) -> Act:
        return Act("repair", text, named=(self.fault(rest),))

    def _suspects(self, text: str, rest: list[str]) -> Act:
        return Act("suspects", text, named=self._all(rest))

    def _diagnosis(self, text: str, rest: list[str]) -> Act:
        confidence, rest = _confidence(rest)
        return Act("diagnosis", text, named=self._all(rest), confidence=confidence)

    def _all(self, rest: list[str]) -> tuple[FaultAt, ...]:
        """Return the faults of a list; none where nothing is said to be wrong."""
        if len(rest) == 1 and possible_words(rest[0], _NONE):
            return ()
        groups: list[list[str]] = [[]]
        for token in rest:
            if token in (",", "and", "with"):
                groups.append([])
            else:
                groups[-1].append(token)
        return tuple(self.fault(group) for group in groups if group or len(groups) == 1)

    def fault(self, tokens: list[str]) -> FaultAt:
        """Return the fault that FAULT PART [END] names."""
        words = [t for token in tokens for t in token.split("@") if t not in ("at", "to")]
        if len(words) < 2:
            raise ValueError("name a fault and a part, for example: blown input_fuse (or `diagnosis none 80 %`)")
        names = possible_words(words[0], self.rules.faults)
        if len(names) != 1:
            known = ", ".join(names or self.rules.faults)
            raise ValueError(f"`{words[0]}` is no fault, {'it may mean' if names else 'known are'} {known}")
        part = self.answers.place(words[1])
        fits = [f for f in self._faults if f.fault == names[0] and f.part == part]
        if not fits:
            raise ValueError(f"{names[0]} does not sit at `{part}`; type faults to see what sits where")
        if len(words) > 2:
            end = self.answers.place(words[2])
            fits = [f for f in fits if f.at == end] or fits
            if fits[0].at != end:
                raise ValueError(f"`{words[2]}` is no end of {part} where it can sit, write {_ends(fits)}")
        elif all(f.at is not None for f in fits):
            raise ValueError(f"{names[0]} sits at an end of {part}, write {_ends(fits)} behind it")
        else:
            fits = [f for f in fits if f.at is None]
        gone = [f for f in fits if len(words) > 3 and f.to == words[3]]
        return (gone or fits)[0]


def _ends(fits: list[FaultAt]) -> str:
    return " or ".join(dict.fromkeys(f.at for f in fits if f.at))


def _state(token: str) -> str:
    """Return the state that a word means, in full, shortened, or without its `engine_`; nothing where it is none."""
    for text in (token, f"engine_{token}"):
        found = possible_words(text, STATES)
        if len(found) == 1:
            return found[0]
    return ""


def _confidence(rest: list[str]) -> tuple[float | None, list[str]]:
    """Return the confidence at the end of a diagnosis, 0 to 1, and what stands before it.

    >>> _confidence(["none", "80", "%"]), _confidence(["none", "0.9"]), _confidence(["none"])
    ((0.8, ['none']), (0.9, ['none']), (None, ['none']))
    """
    if rest and rest[-1] == "%":
        rest = [*rest[:-2], f"{rest[-2]}%"] if len(rest) > 1 else rest
    if not rest or re.fullmatch(r"[0-9]+([.][0-9]+)?%?", rest[-1]) is None:
        return None, rest
    number = float(rest[-1].rstrip("%"))
    share = number / 100.0 if rest[-1].endswith("%") or number > 1.0 else number
    if not 0.0 <= share <= 1.0:
        raise ValueError("a confidence goes from 0 to 100 %, for example 80 %")
    return share, rest[:-1]


_EXAMPLES = {
    "volts": "volts charger_in charger_neg", "ohms": "ohms tray chassis", "ripple": "ripple alt_pos engine",
    "amps": "amps input_cable", "lamp": "lamp charging", "works": "works fridge",
}  # fmt: skip

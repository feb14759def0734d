"""Asks the engine on behalf of a walk, and remembers its answers, so that taking an event back costs nothing.

The engine is made when it is first needed: the questions of the start do not wait for it.
"""

from __future__ import annotations

from diagnose.inference.candidates import ALL_TOOLS
from diagnose.inference.complaints import match_complaint
from diagnose.inference.danger import dangers
from diagnose.inference.ranking import Engine, Question
from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.ranking import NextTest, Ranking, WhyNot
from diagnose.model.reading import Read, Reading, Take, since_repair
from diagnose.model.rules import ComplaintRule, RuleBase
from diagnose.prediction.sights import SOUND_WORD
from diagnose.session.believing import Explained, explains, slips_of
from diagnose.session.facts import Check, Facts
from diagnose.session.meanings import meaning_of
from diagnose.session.proving import as_expected, checks_after
from diagnose.session.steps import Meaning

__all__ = ["Adviser"]


class Adviser:
    """What a walk may ask of the engine, of the rules and of the installation."""

    def __init__(self, installation: Installation, rules: RuleBase, tables: Tables, seed: int = 1) -> None:
        """Prepare; the engine is not made yet."""
        self.installation, self.rules, self.tables, self.seed = installation, rules, tables, seed
        self._engine: Engine | None = None
        self._known: dict[Question, Ranking] = {}

    @property
    def engine(self) -> Engine:
        """Return the engine, made where it was not."""
        if self._engine is None:
            self._engine = Engine(self.installation, self.rules, self.tables, self.seed)
        return self._engine

    def warm(self) -> None:
        """Work out what the first question needs, ahead of time."""
        self.engine.rank(Question((), None, ("multimeter", "clamp", "eyes", "hands")))

    def ahead(self, facts: Facts, reading: Reading) -> None:
        """Work out what follows if a reading is told: most of it is the same for any other result of that test."""
        self.ranking(facts._replace(readings=(*facts.readings, reading)))

    def likely(self, take: Take) -> Read:
        """Return what a sound vehicle reads in a test."""
        if take.quantity in SOUND_WORD:
            return Read("word", SOUND_WORD[take.quantity], word=SOUND_WORD[take.quantity])
        sound = self.engine.predictor.predict([take], [0])[0]
        if sound.words is not None:
            word = max(sound.words, key=lambda w: float(sound.words[w].mean()))  # type: ignore[index]
            return Read("word", word, word=word)
        values = sorted(sound.high[0].tolist())
        middle = values[len(values) // 2]
        value = 10.0**middle if take.quantity == "ohms" else middle
        return Read("number", f"{value:.3g}", value)

    def ranking(self, facts: Facts, tools: tuple[str, ...] | None = None) -> Ranking:
        """Return the ranking for what has been told; `tools`, others than those at hand."""
        question = _question(facts)
        question = question if tools is None else question._replace(tools=tools)
        if question not in self._known:
            self._known[question] = self.engine.rank(question)
        return self._known[question]

    def settling(self, facts: Facts) -> NextTest | None:
        """Return the test that would help most if every tool were at hand."""
        found = self.ranking(facts, ALL_TOOLS).next
        return found[0] if found else None

    def why_not(self, facts: Facts, label: str) -> WhyNot | None:
        """Return what speaks against a suspect, or None where there is none of that name."""
        return self.engine.why_not(_question(facts), label)

    def complaint(self, text: str | None) -> ComplaintRule | None:
        """Return the complaint that an id or free words mean."""
        return match_complaint(text, self.rules)

    def dangers(self, facts: Facts) -> tuple[str, ...]:
        """Return what is dangerous in the readings since the last repair, each with what to do."""
        return dangers(facts.readings[since_repair(facts.readings) :], self.installation, self.tables)

    def explained(self, reading: Reading) -> bool:
        """Return whether any suspect, or a sound vehicle, explains a reading."""
        assert reading.take is not None
        assert reading.read is not None
        return explains(Explained(self.engine.predictor), reading.take, reading.read)

    def slips(self, reading: Reading) -> tuple[str, ...]:
        """Return the likely slips behind a reading that nothing explains."""
        assert reading.take is not None
        assert reading.read is not None
        return slips_of(Explained(self.engine.predictor), reading.take, reading.read)

    def meaning(self, facts: Facts, number: int, expect: tuple[tuple[str, str], ...]) -> Meaning:
        """Return what a reading (numbered from 1) means; `expect`, what suspects were expected to read."""
        reading = facts.readings[number - 1]
        proof = any(check.expected.take == reading.take for check in facts.checks)
        return meaning_of(reading, number, self.engine, None if proof else self.ranking(facts), expect)

    def checks(self, facts: Facts, fault: FaultAt) -> tuple[Check, ...]:
        """Return what is to be read after a repair, the proof first."""
        return checks_after(fault, self.engine, facts.readings, facts.tools or (), self.seed)

    def as_expected(self, expected: Expected, read: Read) -> bool:
        """Return whether a reading after a repair is as it should be."""
        return as_expected(expected, read)


def _question(facts: Facts) -> Question:
    """Return what the engine is asked after what has been told."""
    return Question(facts.readings, facts.complaint or None, facts.tools or ("eyes",), insisted=facts.looking)

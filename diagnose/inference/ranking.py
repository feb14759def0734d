"""The ranking: belief turned into entries with reasons, the doubtful readings, the next tests, and whether to stop."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.after_repairs import INSISTED, AfterRepairs, in_vain
from diagnose.inference.candidates import ALL_TOOLS, candidates
from diagnose.inference.complaints import match_complaint
from diagnose.inference.danger import dangers
from diagnose.inference.direct import is_direct
from diagnose.inference.entries import Bench, Said, doubts_of, entries_of, joined_entry, pair_entry, reasons_of
from diagnose.inference.inseparable import not_told_apart
from diagnose.inference.next_tests import next_tests
from diagnose.inference.operating import explained, why_sound
from diagnose.inference.poor_joints import VEHICLES as POOR
from diagnose.inference.poor_joints import slightly_poor
from diagnose.inference.posterior import Belief, strata_of
from diagnose.inference.prior import insisted, prior_of
from diagnose.inference.reasons import weights_of
from diagnose.inference.stopping import NEARLY, UPSETTING, Standing, stop_of
from diagnose.inference.symptoms import Heard
from diagnose.inference.two_faults import SECOND_BEFORE, Pairs, TwoFaults
from diagnose.inference.weighing import Period
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.ranking import Entry, NextTest, Ranking, WhyNot
from diagnose.model.reading import Reading, Take, since_repair
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses, spread_over_kinds
from diagnose.prediction.keeping import pack, unpack
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.shifted import Shifted
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams
from diagnose.prediction.table import Choosing, PredictionTable

__all__ = ["Engine", "Question"]

#: vehicles drawn for each hypothesis, and those of them that tests are chosen by
VEHICLES, CHOOSING = 96, 24
#: vehicles with nothing wrong, or with one fault that is sure, on which it is learnt how tests hang together
SOUND_VEHICLES = 384
#: the vehicles of the engine are drawn this much wider than the tables say, since real ones keep to no table
STRETCH = 1.25
#: share of the belief before any reading that all kinds of fault have alike: nobody publishes how often each occurs
UNTOLD = 0.25
#: belief in a place from which on a second fault is thought of; readings a leader leaves unexplained, for the same
LEADING, UNEXPLAINED = 0.93, 1.2
#: chance of a second fault beside the first from which on it is looked for before the first is mended
LOOKED_FOR = 0.3
#: suspects that may be joined with a leader that no test tells them from, and the least chance of one
MOST_ALIKE, ALIKE = 24, 0.02
#: pairs of faults that are named, and the least chance of one
MOST_PAIRS, LEAST_CHANCE = 20, 1e-4


class Question(NamedTuple):
    """What is asked of the engine: readings in order, the complaint, the tools at hand, a suspect to be explained, and
    whether people insist that it is not right although nothing, or nothing more, was found.
    """

    readings: tuple[Reading, ...]
    complaint: str | None
    tools: tuple[str, ...]
    why_not: str | None = None
    insisted: bool = False


class _Second(NamedTuple):
    """Pairs of faults: numbers of both and their chance, and what stands beside the leader, if anything leads."""

    chances: dict[tuple[int, int], float]
    pairs: Pairs | None


class Engine:
    """Ranks faults of one installation; asking it twice for the same costs little, since predictions are kept."""

    def __init__(self, installation: Installation, rules: RuleBase, tables: Tables, seed: int = 1) -> None:
        """Prepare; nothing is solved before the first question."""
        self.installation, self.rules, self.tables = installation, rules, tables
        self.sights = Sights(rules, installation)
        self.hypotheses = spread_over_kinds(all_hypotheses(installation, rules), UNTOLD)
        streams = Streams(seed, VEHICLES, STRETCH)
        self.predictor = Predictor(installation, tables, self.hypotheses, streams)
        places = np.unique([h.place for h in self.hypotheses], return_inverse=True)[1].reshape(-1)
        self._bench = Bench(installation, rules, self.sights, self.predictor, self.hypotheses, places)
        self._strata, coarse = strata_of(self.predictor, range(len(self.hypotheses)))
        chooser = Predictor(installation, tables, self.hypotheses, streams.first(CHOOSING))
        self._table = PredictionTable(chooser, candidates(installation, ALL_TOOLS), coarse)
        self._heard = Heard(installation, self._table)
        self._many = streams.with_count(SOUND_VEHICLES)
        self._sound = self._base(0)
        self._beside: tuple[int, PredictionTable] = (0, self._sound)
        self._poor = Predictor(installation, tables, slightly_poor(self.hypotheses), streams.first(POOR))
        self._now = Period(self.predictor, self._table, self._poor)
        self._two = TwoFaults(installation, tables, streams, self._table, self._now)
        self._repaired = AfterRepairs(self._two, self._now, self._strata, self.sights)

    def reweighed(self, hypotheses: tuple[Hypothesis, ...]) -> Engine:
        """Return the same engine for the same hypotheses with other weights; what was worked out is shared."""
        other = copy.copy(self)
        other.hypotheses, other._two = hypotheses, self._two.reweighed(hypotheses)
        other._repaired = AfterRepairs(other._two, self._now, self._strata, self.sights)
        return other

    def _base(self, number: int) -> PredictionTable:
        """Return predictions of one hypothesis on many vehicles."""
        one = Predictor(self.installation, self.tables, [self.hypotheses[number]], self._many)
        return PredictionTable(one, self._table.takes, np.zeros((1, SOUND_VEHICLES), dtype=np.intp))

    def _parts(self) -> tuple[tuple[str, PredictionTable | Predictor], ...]:
        """Return what works predictions out, by name."""
        return (("table", self._table), ("sound", self._sound), ("whole", self.predictor), ("poor", self._poor))

    def kept(self) -> bytes:
        """Return all that was worked out so far, for an engine of the same installation, rules, figures and seed."""
        return pack((f"{name} {key}", array) for name, part in self._parts() for key, array in part.kept())

    def put_back(self, data: bytes) -> None:
        """Take in what another engine kept.

        Raises: ValueError where these are not such bytes.
        """
        arrays = unpack(data)
        try:
            for name, part in self._parts():
                own = f"{name} "
                part.put_back({n.removeprefix(own): a for n, a in arrays.items() if n.startswith(own)})
        except (KeyError, IndexError, ValueError) as error:
            raise ValueError("these predictions are of another engine") from error

    @property
    def worked_out(self) -> int:
        """A number that grows with what was worked out."""
        return sum(part.size for _, part in self._parts())

    def believe(self, question: Question) -> Belief:
        """Return the belief in what is wrong now, after the readings and repairs of a question."""
        complaint = match_complaint(question.complaint, self.rules)
        prior = prior_of(self.hypotheses, self._heard.ratios(complaint))
        if question.insisted:
            return self._repaired.believe(insisted(prior), question.readings, INSISTED)
        return self._repaired.believe(prior, question.readings)

    def rank(self, question: Question) -> Ranking:
        """Return the ranking with reasons, doubts, next tests and whether to stop."""
        belief = self.believe(question)
        second = self._second(belief, question)
        total = 1.0 + sum(second.chances.values())
        belief = belief._replace(posterior=belief.posterior / total, unlisted=belief.unlisted / total)
        chances = {pair: chance / total for pair, chance in second.chances.items()}
        held = np.bincount(self._bench.places, belief.posterior)
        for (first, _), chance in chances.items():
            held[self._bench.places[first]] += chance
        danger = dangers(question.readings, self.installation, self.tables)
        said = Said(question.readings, match_complaint(question.complaint, self.rules))
        entries = self._entries(belief, said, held, chances)
        tests, looking, seen = ((), False, True) if danger else self._tests(belief, second, entries, held, question)
        bits = max((test.information_bits for test in tests), default=0.0)
        if not danger:
            entries = self._joined(entries, belief, question, bits)
        standing = Standing(belief, entries, self.hypotheses, self._bench.places, held, looking, bits, seen)
        stop = stop_of(standing, question.readings, danger)
        sound = why_sound(belief, self.predictor, said.readings, said.complaint, self.rules.operating_states)
        used = sum(1 for r in question.readings if r.read is not None and r.read.kind != "skipped")
        return Ranking(
            used, entries, float(belief.posterior[0]), sound, belief.unlisted,
            doubts_of(self._bench, belief, question.readings), tests, stop, danger,
            explained(sound, self.rules.operating_states), in_vain(belief, question.readings, self.hypotheses),
        )  # fmt: skip

    def _second(self, belief: Belief, question: Question) -> _Second:
        """Weigh a second fault beside what leads, where something does, or explains the readings badly."""
        held = np.bincount(self._bench.places, belief.posterior)[self._bench.places]
        leader = int(np.argmax(belief.posterior[1:])) + 1
        strange = float(belief.fit.wrong[leader].sum()) > UNEXPLAINED
        if not question.readings or not (held[leader] >= LEADING or strange):
            return _Second({}, None)
        chances: dict[tuple[int, int], float] = {}
        pairs = self._two.pairs(leader, belief, question.readings, belief.mended, self._strata, self.sights)
        with np.errstate(over="ignore"):
            found = belief.posterior[leader] * np.exp(np.minimum(pairs.log_ratio, 600.0))
        found[0] = 0.0
        for number in np.argsort(-found, kind="stable")[:MOST_PAIRS].tolist():
            if found[number] > LEAST_CHANCE:
                chances[(leader, number)] = float(found[number])
        return _Second(chances, pairs if held[leader] >= LEADING else None)

    def _entries(
        self, belief: Belief, said: Said, held: Array, chances: dict[tuple[int, int], float]
    ) -> tuple[Entry, ...]:
        """Return single faults and pairs, likeliest first."""
        single = entries_of(self._bench, belief, said, held)
        by_fault = {entry.fault: entry for entry in single}
        both = []
        for (first, second), chance in chances.items():
            one, other = self.hypotheses[first].fault, self.hypotheses[second].fault
            assert one is not None
            assert other is not None
            before = float(belief.prior[first] * SECOND_BEFORE * belief.prior[second])
            both.append(pair_entry(by_fault[one], other, before, chance))
        return tuple(sorted([*single, *both], key=lambda e: -e.probability))

    def _joined(
        self, entries: tuple[Entry, ...], belief: Belief, question: Question, bits: float
    ) -> tuple[Entry, ...]:
        """Join the leader with suspects at other places that no test left tells from it: no tossing of a coin."""
        if not entries or entries[0].together or entries[0].probability >= NEARLY or bits > UPSETTING:
            return entries
        number = {h.fault: n for n, h in enumerate(self.hypotheses)}
        near = [e for e in entries[:MOST_ALIKE] if e.probability >= ALIKE and not e.together]
        leader = entries[0].fault
        other = [e for e in near[1:] if e.fault.place != leader.place]
        if not other:
            return entries
        taken = {r.take for r in question.readings[since_repair(question.readings) :]}
        left = [t for t in candidates(self.installation, question.tools) if t not in taken]
        numbers = [number[e.fault] for e in (entries[0], *other)]
        alike = set(not_told_apart(self._table, left, numbers, self.sights))
        joined = tuple(e for e in other if number[e.fault] in alike)
        if not joined:
            return entries
        before = float(sum(belief.prior[number[e.fault]] for e in (entries[0], *joined)))
        return (joined_entry(entries[0], joined, before), *(e for e in entries[1:] if e not in joined))

    def _tests(
        self, belief: Belief, second: _Second, entries: tuple[Entry, ...], held: Array, question: Question
    ) -> tuple[tuple[NextTest, ...], bool, bool]:
        """Return the next tests, whether they look for a second fault beside a first that is sure, and whether that
        first was looked at straight.
        """
        tests = self._for_second(second, question)
        looking = bool(tests)
        if not looking:
            tests = self._next(self._table, belief, question, self._sound)
        tests, seen = self._straight(tests, belief, entries, held, question)
        return tests, looking, seen

    def _for_second(self, second: _Second, question: Question) -> tuple[NextTest, ...]:
        """Return the tests that look for a second fault, none where one is not likely enough to be looked for."""
        if second.pairs is None:
            return ()
        beside = second.pairs.beside
        if 1.0 - float(beside.posterior[0]) - beside.unlisted <= LOOKED_FOR:
            return ()
        if self._beside[0] != second.pairs.first:
            self._beside = (second.pairs.first, self._base(second.pairs.first))
        return self._next(Shifted(self._table, second.pairs.first), beside, question, self._beside[1])

    def _next(
        self, table: Choosing, belief: Belief, question: Question, base: PredictionTable,
        among: Sequence[Take] | None = None,
    ) -> tuple[NextTest, ...]:  # fmt: skip
        return next_tests(
            table, self.rules, self.sights, belief, question.readings, question.tools, base.first_numbers, among
        )

    def _straight(
        self, tests: tuple[NextTest, ...], belief: Belief, entries: tuple[Entry, ...], held: Array, question: Question
    ) -> tuple[tuple[NextTest, ...], bool]:
        """Put a test straight at a leader that is nearly sure first, unless one was taken; return whether one was."""
        leader = entries[0].fault if entries else None
        number = next((n for n, h in enumerate(self.hypotheses) if h.fault == leader), 0)
        if leader is None or held[self._bench.places[number]] < NEARLY:
            return tests, True
        taken = [r.take for r in question.readings[since_repair(question.readings) :] if r.take is not None]
        if any(is_direct(take, leader, self.installation) for take in taken):
            return tests, True
        straight = [t for t in candidates(self.installation, question.tools) if is_direct(t, leader, self.installation)]
        found = self._next(self._table, belief, question, self._sound, straight)
        return (*found[:1], *(t for t in tests if t.take != found[0].take)) if found else tests, not found

    def bits_told(self, question: Question, take: Take) -> float | None:
        """Return how much a test is expected to tell [bit], or None for a number that is no candidate test."""
        if take.quantity not in SOUND_WORD and take not in self._table:
            return None
        found = self._next(self._table, self.believe(question), question, self._sound, [take])
        return found[0].information_bits if found else 0.0

    def why_not(self, question: Question, label: str) -> WhyNot | None:
        """Return what speaks against a suspect named by fault and part, and what reading would bring it back."""
        belief = self.believe(question)
        wanted = label.replace("@", " ").replace(",", " ").split()
        match = [n for n, h in enumerate(self.hypotheses) if n and set(wanted) <= set(h.label.split())]
        if not match:
            return None
        number = max(match, key=lambda n: belief.posterior[n])
        db = weights_of(belief, len(question.readings)).db[number]
        reasons = tuple(r for r in reasons_of(self._bench, belief, question.readings, db) if r.db < 0)
        back = reasons[0].says if reasons else "no reading speaks against it; others explain the readings better"
        return WhyNot(self.hypotheses[number].label, float(belief.posterior[number]), reasons, back)

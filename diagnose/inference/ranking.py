"""The ranking: belief turned into entries with reasons, the doubtful readings, the next tests, and whether to stop."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.candidates import ALL_TOOLS, candidates
from diagnose.inference.causes import LEADING, likely_causes
from diagnose.inference.complaints import complaint_ratio, match_complaint
from diagnose.inference.danger import dangers
from diagnose.inference.evidence import gather
from diagnose.inference.next_tests import next_tests
from diagnose.inference.operating import explained, why_sound
from diagnose.inference.posterior import Belief, believe, prior_of, strata_of
from diagnose.inference.reasons import against_sound, amount, reading_says, weights_of
from diagnose.inference.ruled_out import still_counting
from diagnose.inference.sizes import size_after
from diagnose.inference.stopping import stop_of
from diagnose.model.causes import LikelyCause
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.ranking import Doubt, Entry, Ranking, Reason, WhyNot
from diagnose.model.reading import Reading
from diagnose.model.rules import RuleBase
from diagnose.prediction.grained import Grained
from diagnose.prediction.hypotheses import all_hypotheses
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.sights import Sights
from diagnose.prediction.streams import Streams
from diagnose.prediction.table import PredictionTable

__all__ = ["Engine", "Question"]

#: vehicles drawn for each hypothesis, and those of them that tests are chosen by
VEHICLES, CHOOSING = 96, 24
#: a reading convicts if it is this much likelier with the fault than on a sound vehicle [dB]
CONVICTING = 10.0
SURE = 0.8
#: the vehicles of the engine are drawn this much wider than the tables say, since real ones keep to no table
STRETCH = 1.25


class Question(NamedTuple):
    """What is asked of the engine: readings in order, the complaint, the tools at hand, a suspect to be explained."""

    readings: tuple[Reading, ...]
    complaint: str | None
    tools: tuple[str, ...]
    why_not: str | None = None


class Engine:
    """Ranks faults of one installation; asking it twice for the same costs little, since predictions are kept."""

    def __init__(self, installation: Installation, rules: RuleBase, tables: Tables, seed: int = 1) -> None:
        """Prepare; nothing is solved before the first question."""
        self.installation, self.rules, self.tables = installation, rules, tables
        self.sights = Sights(rules)
        self.hypotheses = all_hypotheses(installation, rules)
        streams = Streams(seed, VEHICLES, STRETCH)
        self.predictor = Predictor(installation, tables, self.hypotheses, streams)
        self._places = np.unique([h.place for h in self.hypotheses], return_inverse=True)[1]
        self._strata, coarse = strata_of(self.predictor, range(len(self.hypotheses)))
        chooser = Predictor(installation, tables, self.hypotheses, streams.first(CHOOSING))
        self._table = PredictionTable(chooser, candidates(installation, ALL_TOOLS), coarse)

    def believe(self, question: Question) -> Belief:
        """Return the belief after the readings of a question."""
        complaint = match_complaint(question.complaint, self.rules)
        ratios = [complaint_ratio(complaint, h, self.installation) for h in self.hypotheses]
        prior = prior_of(self.hypotheses, ratios)
        if not question.readings:
            return believe(prior, gather((), self.predictor, self.sights), self._strata)
        few = gather(question.readings, self._table, self.sights)
        own = self._strata[:, : self._table.count]
        grained = Grained(self.predictor, self._table, still_counting(prior, few, own))
        strata = np.where(grained.counting[:, None], self._strata, grained.spread(own))
        return believe(prior, gather(question.readings, grained, self.sights), strata)

    def rank(self, question: Question) -> Ranking:
        """Return the ranking with reasons, doubts, next tests and whether to stop."""
        belief = self.believe(question)
        danger = dangers(question.readings, self.installation, self.tables)
        entries = self._entries(belief, question)
        tests = (
            ()
            if danger
            else next_tests(self._table, self.rules, self.sights, belief, question.readings, question.tools)
        )
        stop = stop_of(belief, entries, question.readings, danger, self.hypotheses, bool(tests))
        sound = self._why_sound(belief, question)
        return Ranking(
            sum(1 for r in question.readings if r.read is not None and r.read.kind != "skipped"),
            entries,
            float(belief.posterior[0]),
            sound,
            belief.unlisted,
            self._doubts(belief, question),
            tests,
            stop,
            danger,
            explained(sound, self.rules.operating_states),
        )

    def _entries(self, belief: Belief, question: Question) -> tuple[Entry, ...]:
        order = np.argsort(-belief.posterior, kind="stable")
        weights = weights_of(belief, len(question.readings)).db
        held = np.bincount(self._places, belief.posterior)[self._places]
        proved = {n for n in np.flatnonzero(held >= SURE).tolist() if (against_sound(belief, n) >= CONVICTING).any()}
        return tuple(
            self._entry(int(n), belief, question, weights[n], rank, int(n) in proved)
            for rank, n in enumerate(o for o in order if o)
        )

    def _entry(self, number: int, belief: Belief, question: Question, db: Array, rank: int, convicted: bool) -> Entry:
        hypothesis = self.hypotheses[number]
        assert hypothesis.fault is not None
        assert hypothesis.rule is not None
        before, after = float(belief.prior[number]), float(belief.posterior[number])
        reasons = self._reasons(belief, question, db) if rank < 5 else ()
        pro = tuple(r for r in reasons if r.db >= 1.0)
        size = None
        if rank < 5 and hypothesis.rule.size is not None:
            drawn = self.predictor.sizes(number)
            unit = hypothesis.rule.size.unit.partition(" of ")[2] or hypothesis.rule.size.unit
            unit = {"area": "mm2", "capacity": "Ah", "rating": "A"}.get(unit, unit)
            size = size_after(belief, number, drawn, unit, hypothesis.rule.size.spread == "log_even")
        causes = self._causes(hypothesis.fault, question) if rank < 5 else ()
        remedy = (
            (causes[0].remedy if causes and causes[0].probability >= LEADING else hypothesis.rule.remedy)
            if convicted
            else f"not proved yet: first take a reading that settles it ({hypothesis.rule.proof})"
        )
        odds = 10.0 * np.log10(max(after, 1e-12) / max(1.0 - after, 1e-12) / (before / (1.0 - before)))
        return Entry(
            hypothesis.fault, hypothesis.rule.name, after, float(odds), size, convicted, pro,
            tuple(r for r in reasons if r.db <= -1.0), remedy, hypothesis.rule.proof, causes=causes,
        )  # fmt: skip

    def _causes(self, fault: FaultAt, question: Question) -> tuple[LikelyCause, ...]:
        said = match_complaint(question.complaint, self.rules)
        return likely_causes(fault, self.installation, self.rules, self.sights, question.readings, said)

    def _why_sound(self, belief: Belief, question: Question) -> tuple[tuple[str, float], ...]:
        said = match_complaint(question.complaint, self.rules)
        return why_sound(belief, self.predictor, question.readings, said, self.rules.operating_states)

    def _reasons(self, belief: Belief, question: Question, db: Array) -> tuple[Reason, ...]:
        used = sorted({*belief.evidence.which, *belief.evidence.word_which}, key=lambda i: -abs(db[i]))
        return tuple(
            Reason(i + 1, float(db[i]), reading_says(i, question.readings, belief, self.installation)) for i in used
        )

    def _doubts(self, belief: Belief, question: Question) -> tuple[Doubt, ...]:
        evidence, fit = belief.evidence, belief.fit
        found = []
        for column, index in enumerate(evidence.which):
            wrong = float(belief.posterior @ fit.wrong[:, column]) / max(float(belief.posterior.sum()), 1e-9)
            if wrong > 0.5:
                leader = int(np.argmax(belief.posterior))
                middle, spread = float(fit.expected[leader, column]), 2.0 * float(fit.spread[leader, column])
                take = question.readings[index].take
                assert take is not None
                band = f"{amount(take.quantity, middle - spread)} to {amount(take.quantity, middle + spread)}"
                says = reading_says(index, question.readings, belief, self.installation)
                found.append(
                    Doubt(index + 1, wrong, band, f"{says}; the other readings call for {band}: take it again")
                )
        return tuple(found)

    def why_not(self, question: Question, label: str) -> WhyNot | None:
        """Return what speaks against a suspect named by fault and part, and what reading would bring it back."""
        belief = self.believe(question)
        wanted = label.replace("@", " ").replace(",", " ").split()
        match = [n for n, h in enumerate(self.hypotheses) if n and set(wanted) <= set(h.label.split())]
        if not match:
            return None
        number = max(match, key=lambda n: belief.posterior[n])
        db = weights_of(belief, len(question.readings)).db[number]
        reasons = tuple(r for r in self._reasons(belief, question, db) if r.db < 0)
        back = reasons[0].says if reasons else "no reading speaks against it; others explain the readings better"
        return WhyNot(self.hypotheses[number].label, float(belief.posterior[number]), reasons, back)

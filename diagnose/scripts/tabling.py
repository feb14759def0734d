"""The one table that a whole script is grown on: chances of all answers to all permitted tests, on possible vehicles.

Where something of the installation is unknown, the vehicles are of all its versions, and what is unknown is asked for
like a test. What is asked for what reason is chosen elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.candidates import minutes_of
from diagnose.inference.complaints import complaint_ratio, match_complaint
from diagnose.inference.prior import prior_of
from diagnose.inference.symptoms import symptom_ratios
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.model.script import UNKNOWN
from diagnose.model.script_words import ScriptWords
from diagnose.model.unknowns import Unknown
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams
from diagnose.scripts.deciding import act_for, owner_acts
from diagnose.scripts.mixing import Mixed
from diagnose.scripts.noticing import noticed
from diagnose.scripts.outcomes import Outcomes, grains_of, lacking_in, outcomes_of, told_of
from diagnose.scripts.permitted import danger_takes, permitted_takes, tool_of
from diagnose.scripts.sifting import sifted
from diagnose.scripts.standing import Table
from diagnose.scripts.versions import Version
from diagnose.scripts.wording import labels_for

__all__ = ["Order", "Sources", "table_of"]

#: vehicles drawn for each hypothesis, drawn this much wider than the tables say, since real ones keep to no table
VEHICLES, STRETCH = 48, 1.25


class Sources(NamedTuple):
    """What a script is made from: installation, rule base, figures, words; where something of the installation is
    unknown, the questions about it, and the versions it may be of.
    """

    installation: Installation
    rules: RuleBase
    tables: Tables
    words: ScriptWords
    unknowns: Mapping[str, Unknown] = {}
    versions: tuple[Version, ...] = ()


class Order(NamedTuple):
    """What is ordered: the complaint, the tools, `allowed` beyond looking, how many questions, and for whom."""

    complaint: str
    tools: tuple[str, ...]
    allowed: tuple[str, ...]
    depth: int
    owner: bool
    seed: int = 1


class _Drawn(NamedTuple):
    """Vehicles that the table is made of: `prior` (hypotheses,), and `mix` (hypotheses, vehicles), how much each one
    counts by its version beside those of the same hypothesis.
    """

    predictor: Predictor | Mixed
    hypotheses: tuple[Hypothesis, ...]
    prior: Array
    mix: Array


def table_of(sources: Sources, order: Order) -> Table:
    """Return what the script is grown on: the chances of all answers to all permitted tests."""
    installation, rules, tables = sources.installation, sources.rules, sources.tables
    drawn = _mixed(sources, order) if len(sources.versions) > 1 else _drawn(sources, order)
    predictor = drawn.predictor
    can = owner_acts(sources.words.owner_can, order.allowed)
    acts = [act_for(h, installation, can) if order.owner else h.place for h in drawn.hypotheses]
    shares = np.where(noticed(installation, predictor), 1.0, tables.number("scripts", "unnoticed"))
    complaint = match_complaint(order.complaint, rules)
    shows = symptom_ratios(complaint, installation, predictor)
    grains = grains_of(drawn.hypotheses, acts, drawn.prior, shares if shows is None else shares * shows, drawn.mix)
    danger = danger_takes(installation, order.tools)
    caller = sources.words.caller
    if complaint is not None and complaint.danger:  # whatever is seen now, nothing is switched on
        caller = caller.model_copy(update={"states": caller.after_danger})
    takes = permitted_takes(installation, rules, tables, order.tools, caller, order.allowed, order.owner)
    takes = sifted([t for t in takes if t not in danger], predictor, drawn.prior)
    sights = Sights(rules, installation)
    stops = {t: _stops(t, installation, sources.words) for t in takes} if order.owner else {}
    labels = {t: own for t in takes if order.owner and (own := _labels(t, sources.words, sights, stops[t]))}
    alarms = {t: labels_for(t, sources.words, True) for t in danger}
    steps = {"volts": tables.number("scripts", "step_volts"), "amps": tables.number("scripts", "step_amps")}
    wrong = tables.number("scripts", "mistaken")
    outcomes = outcomes_of(takes, grains, predictor, sights, labels, steps, wrong)
    first = outcomes_of(danger, grains, predictor, sights, alarms, steps, wrong)
    if isinstance(predictor, Mixed):
        outcomes = [lacking_in(one, predictor.lacking(one.take), len(grains.hypotheses)) for one in outcomes]
        outcomes += list(_asked(sources, predictor, len(grains.hypotheses), wrong))
    versions = predictor.version if isinstance(predictor, Mixed) else None
    minutes = _Minutes(sources, order.owner).of
    return Table(grains, tuple(outcomes), tuple(first), dict(sources.words.signs), stops, minutes, versions)


def _drawn(sources: Sources, order: Order) -> _Drawn:
    """Return the vehicles of an installation that is known."""
    installation = sources.versions[0].installation if sources.versions else sources.installation
    hypotheses = all_hypotheses(installation, sources.rules)
    prior = _prior(hypotheses, installation, sources, order)
    predictor = Predictor(installation, sources.tables, hypotheses, Streams(order.seed, VEHICLES, STRETCH))
    return _Drawn(predictor, hypotheses, prior, np.ones((len(hypotheses), predictor.count)))


def _mixed(sources: Sources, order: Order) -> _Drawn:
    """Return vehicles of all versions, each hypothesis as likely as it is over all of them."""
    every = [all_hypotheses(version.installation, sources.rules) for version in sources.versions]
    mixed = Mixed(sources.versions, every, sources.tables, lambda count: Streams(order.seed, count, STRETCH))
    chances = np.zeros((len(mixed.hypotheses), len(every)))
    at = {one.fault: row for row, one in enumerate(mixed.hypotheses)}
    for column, (version, own) in enumerate(zip(sources.versions, every, strict=True)):
        prior = _prior(own, version.installation, sources, order)
        chances[[at[one.fault] for one in own], column] = version.share * prior
    whole = chances.sum(axis=1)
    count = np.bincount(mixed.version, minlength=len(every))
    mix = mixed.count * (chances / count / np.maximum(whole, 1e-300)[:, None])[:, mixed.version]
    return _Drawn(mixed, mixed.hypotheses, whole, mix)


def _prior(hypotheses: Sequence[Hypothesis], installation: Installation, sources: Sources, order: Order) -> Array:
    complaint = match_complaint(order.complaint, sources.rules)
    return prior_of(hypotheses, [complaint_ratio(complaint, h, installation) for h in hypotheses])


def _asked(sources: Sources, mixed: Mixed, hypotheses: int, mistaken: float) -> list[Outcomes]:
    """Return the questions about what is unknown, each answered by the version of a vehicle."""
    found = []
    for name, unknown in sources.unknowns.items():
        words = tuple(word for word in unknown.answers if any(v.answers.get(name) == word for v in sources.versions))
        if len(words) > 1:
            said = [words.index(v.answers[name]) for v in sources.versions]
            take = Take(UNKNOWN, (name,), "")
            found.append(told_of(take, words, np.array(said)[mixed.version], hypotheses, mistaken))
    return found


def _stops(take: Take, installation: Installation, words: ScriptWords) -> tuple[str, ...]:
    """Return the words of a test that end a script: signs of danger that are not usual of such a part."""
    part = installation.parts.get(take.where[0])
    usual = words.usual.get(part.kind, ()) if part is not None else ()
    return tuple(word for word in words.stops.get(take.quantity, ()) if word not in usual)


def _labels(take: Take, words: ScriptWords, sights: Sights, stops: tuple[str, ...]) -> tuple[str, ...]:
    """Return the words that an owner can answer with: of what is seen, what such a part may show, or a danger."""
    own = labels_for(take, words, False)
    if take.quantity not in SOUND_WORD:
        return own
    known = {*sights.words(take.quantity, take.where[0]), *stops}
    return tuple(word for word in own if word in known)


class _Minutes(NamedTuple):
    """Minutes of a test from a state, and of the test alone, for the person who takes it."""

    sources: Sources
    owner: bool

    def of(self, take: Take, state: str | None) -> tuple[float, float]:
        """Return the minutes [min] of a test from a state, and of the test alone."""
        tables, installation = self.sources.tables, self.sources.installation
        if take.quantity == UNKNOWN:
            asked = tables.number("scripts", "asked")
            return asked, asked
        base = self.sources.rules.tests[take.quantity].minutes
        change, fitted = (tables.number("minutes", k) for k in ("change_of_state", "jumper_or_swap"))
        if not self.owner:
            return minutes_of(take, base, installation, state, frozenset(), (change, fitted)), base
        effort = tables.number("scripts", f"effort_{tool_of(take)}")
        alone = effort * base + tables.number("scripts", "card")
        return alone + effort * (change if take.when != state else 0.0), alone

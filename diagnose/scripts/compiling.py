"""From an installation, a complaint and the tools at hand to a whole script: table, tree, then words.

It is the one door to this folder: nothing is read from files here, and no number or word stands here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.candidates import minutes_of
from diagnose.inference.complaints import complaint_ratio, match_complaint
from diagnose.inference.posterior import prior_of
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES, Take
from diagnose.model.rules import RuleBase
from diagnose.model.script import Answer, End, Question, Script
from diagnose.model.script_words import ScriptWords
from diagnose.prediction.hypotheses import all_hypotheses
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.sights import Sights
from diagnose.prediction.streams import Streams
from diagnose.scripts.deciding import Decision, act_for, decide, owner_acts
from diagnose.scripts.ending import end_of
from diagnose.scripts.growing import Limits, Node, Table, grow
from diagnose.scripts.noticing import noticed
from diagnose.scripts.outcomes import grains_of, outcomes_of
from diagnose.scripts.permitted import danger_takes, permitted_takes, tool_of
from diagnose.scripts.sifting import sifted
from diagnose.scripts.wording import Wording, band_label, labels_for
from diagnose.session.cautions import for_complaint, for_take

__all__ = ["Order", "Sources", "compile_script", "decided", "limits_of", "table_of"]

#: vehicles drawn for each hypothesis, drawn this much wider than the tables say, since real ones keep to no table
VEHICLES, STRETCH = 16, 1.25
#: cards on one level at most: more make a longer page and hardly a better script
WIDTH = 32


class Sources(NamedTuple):
    """What a script is made from: installation, rule base, figures, words."""

    installation: Installation
    rules: RuleBase
    tables: Tables
    words: ScriptWords


class Order(NamedTuple):
    """What is ordered: the complaint, the tools, `allowed` beyond looking, how many questions, and for whom."""

    complaint: str
    tools: tuple[str, ...]
    allowed: tuple[str, ...]
    depth: int
    owner: bool
    seed: int = 1


def compile_script(sources: Sources, order: Order) -> Script:
    """Return the script."""
    table = table_of(sources, order)
    nodes = grow(table, limits_of(sources.tables, order))
    wording = Wording(sources.installation, sources.rules, sources.words, order.owner)
    rule = match_complaint(order.complaint, sources.rules)
    complaint = rule.id if rule is not None else ""
    ends, where = _ends(nodes, table, sources, order, wording, complaint)
    names = _names(nodes, where)
    steps: dict[str, Question | End] = {
        names[k]: _question(node, names, wording, len(table.danger), _more(nodes, k, {}))
        for k, node in enumerate(nodes) if node.take is not None
    }  # fmt: skip
    steps |= ends
    cautions = _cautions(nodes, sources, complaint, () if order.owner else tuple(ends.values()))
    title = sources.installation.title
    return Script(title, order.complaint, order.owner, order.tools, order.allowed, names[0], cautions, steps)


def _cautions(nodes: list[Node], sources: Sources, complaint: str, repairs: Sequence[End]) -> tuple[str, ...]:
    """Return what stands before the first question: the opening, and in full every caution that a card, or an end after
    which a repair is made, reminds of.
    """
    ids = list(for_complaint(complaint, sources.rules))
    for node in nodes:
        ids += for_take(node.take, sources.installation, sources.rules) if node.take is not None else ()
    brief = {caution for end in repairs for caution in end.cautions}
    ids += [name for name, caution in sources.rules.cautions.items() if caution.brief in brief]
    return (*sources.words.opening, *(sources.rules.cautions[name].says for name in dict.fromkeys(ids)))


def table_of(sources: Sources, order: Order) -> Table:
    """Return what the script is grown on: the chances of all answers to all permitted tests."""
    installation, rules, tables = sources.installation, sources.rules, sources.tables
    complaint = match_complaint(order.complaint, rules)
    hypotheses = all_hypotheses(installation, rules)
    prior = prior_of(hypotheses, [complaint_ratio(complaint, h, installation) for h in hypotheses])
    can = owner_acts(sources.words.owner_can, order.allowed)
    acts = [act_for(h, installation, can) if order.owner else h.place for h in hypotheses]
    predictor = Predictor(installation, tables, hypotheses, Streams(order.seed, VEHICLES, STRETCH))
    seen = noticed(installation, predictor)
    grains = grains_of(hypotheses, acts, prior, np.where(seen, 1.0, tables.number("scripts", "unnoticed")))
    danger = danger_takes(installation, order.tools) if order.owner else ()
    takes = permitted_takes(
        installation, rules, tables, order.tools, sources.words.caller, order.allowed, order.owner
    )  # fmt: skip
    takes = sifted([t for t in takes if t not in danger], predictor, prior)
    sights = Sights(rules, installation)
    labels = {t: own for t in takes if order.owner and (own := labels_for(t, sources.words, False))}
    alarms = {t: labels_for(t, sources.words, True) for t in danger}
    steps = {"volts": tables.number("scripts", "step_volts"), "amps": tables.number("scripts", "step_amps")}
    wrong = tables.number("scripts", "mistaken")
    outcomes = outcomes_of(takes, grains, predictor, sights, labels, steps, wrong)
    first = outcomes_of(danger, grains, predictor, sights, alarms, steps, wrong)
    return Table(grains, tuple(outcomes), tuple(first), dict(sources.words.signs), _Minutes(sources, order.owner).of)


class _Minutes(NamedTuple):
    """Minutes of a test from a state, and of the test alone, for the person who takes it."""

    sources: Sources
    owner: bool

    def of(self, take: Take, state: str | None) -> tuple[float, float]:
        """Return the minutes [min] of a test from a state, and of the test alone."""
        tables, installation = self.sources.tables, self.sources.installation
        base = self.sources.rules.tests[take.quantity].minutes
        change, fitted = (tables.number("minutes", k) for k in ("change_of_state", "jumper_or_swap"))
        if not self.owner:
            return minutes_of(take, base, installation, state, frozenset(), (change, fitted)), base
        effort = tables.number("scripts", f"effort_{tool_of(take)}")
        alone = effort * base + tables.number("scripts", "card")
        return alone + effort * (change if take.when != state else 0.0), alone


def limits_of(tables: Tables, order: Order) -> Limits:
    """Return when asking ends."""
    n = {k: tables.number("scripts", k) for k in (
        "unusable", "questions_without_gain", "minutes_without_gain", "gain", "cannot")}  # fmt: skip
    return Limits(
        order.depth, WIDTH, int(n["unusable"]), int(n["questions_without_gain"]), n["minutes_without_gain"], n["gain"],
        n["cannot"],
    )  # fmt: skip


def _ends(
    nodes: list[Node], table: Table, sources: Sources, order: Order, wording: Wording, complaint: str
) -> tuple[dict[str, End], dict[int, str]]:
    """Return the ends, those of which the same follows made one, and which node comes to which."""
    groups: dict[tuple[object, ...], list[int]] = {}
    beliefs: dict[int, tuple[Array, Decision]] = {}
    for k, node in enumerate(nodes):
        if node.take is None:
            belief = table.grains.by_hypothesis(node.standing.weights)
            because = node.because or "tests_spent"
            decision = decided(belief, node.standing.unlisted, table, sources, order, because)
            beliefs[k] = belief, decision
            leader = int(np.argmax(belief[1:])) if because == "found" else -1
            groups.setdefault((because, decision.send, decision.bring, decision.owner, leader), []).append(k)
    ends: dict[str, End] = {}
    where: dict[int, str] = {}
    for number, (key, members) in enumerate(groups.items(), 1):
        reach = np.array([nodes[k].standing.reach for k in members])
        share = reach / max(float(reach.sum()), 1e-300)
        belief = np.asarray(sum(s * beliefs[k][0] for s, k in zip(share, members, strict=True)))
        unlisted = float(sum(s * nodes[k].standing.unlisted for s, k in zip(share, members, strict=True)))
        because = str(key[0])
        decision = decided(belief, unlisted, table, sources, order, because)
        ends[f"e{number}"] = end_of(because, belief, unlisted, table.grains, decision, wording, complaint)
        where |= dict.fromkeys(members, f"e{number}")
    return ends, where


def decided(
    belief: Array, unlisted: float, table: Table, sources: Sources, order: Order, because: str
) -> Decision:
    """Return what is done after a belief (hypotheses,) in the order of the table."""
    return decide(
        belief, unlisted, table.grains.hypotheses, sources.installation, sources.tables,
        owner_acts(sources.words.owner_can, order.allowed), because == "danger",
    )  # fmt: skip


def _names(nodes: list[Node], where: Mapping[int, str]) -> dict[int, str]:
    asked = [k for k, node in enumerate(nodes) if node.take is not None]
    return {k: f"q{number}" for number, k in enumerate(asked, 1)} | dict(where)


def _more(nodes: list[Node], k: int, known: dict[int, float]) -> float:
    """Return how many questions are still to come on average, this one counted."""
    if k not in known:
        node = nodes[k]
        known[k] = 0.0 if node.take is None else 1.0 + sum(b.chance * _more(nodes, b.to, known) for b in node.branches)
    return known[k]


def _question(node: Node, names: Mapping[int, str], wording: Wording, alarms: int, more: float) -> Question:
    take = node.take
    assert take is not None
    danger = node.standing.danger < alarms
    unit = QUANTITIES[take.quantity][1]
    answers = []
    for branch in node.branches:
        go = names[branch.to]
        if branch.read is not None:
            answers.append(Answer(wording.label(take, branch.read, danger), go, branch.read))
        else:
            label = band_label(branch.low, branch.high, unit or "")
            answers.append(Answer(label, go, None, branch.low, branch.high, unit))
    rules = wording.rules
    known = [rules.cautions[c] for c in for_take(take, wording.installation, rules)]
    cautions = tuple(c.brief for c in known)
    return Question(
        wording.say(take, danger), wording.how(take, danger), take, cautions, tuple(answers), round(node.minutes, 1),
        round(more, 1), danger,
    )  # fmt: skip

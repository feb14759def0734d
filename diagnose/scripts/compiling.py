"""From an installation, a complaint and the tools at hand to a whole script: table, tree, then words.

It is the one door to this folder: nothing is read from files here, and no number or word stands here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.complaints import match_complaint
from diagnose.model.figures import Tables
from diagnose.model.reading import QUANTITIES
from diagnose.model.script import UNKNOWN, Answer, End, Question, Script
from diagnose.scripts.deciding import Decision, decide, owner_acts
from diagnose.scripts.ending import Told, end_of
from diagnose.scripts.growing import grow
from diagnose.scripts.standing import Limits, Node, Table
from diagnose.scripts.tabling import Order, Sources, table_of
from diagnose.scripts.trimming import trimmed
from diagnose.scripts.wording import Wording, band_label
from diagnose.session.cautions import for_complaint

__all__ = ["Order", "Sources", "compile_script", "decided", "limits_of", "table_of"]

#: how much likelier than before anything was asked a fault must be for a sign of danger to speak for it
RAISED = 2.0
#: cards on one level at most, for an installer, whose cards are longer, and for an owner: more make a longer page and
#: hardly a better script
WIDTH, OWNERS_WIDTH = 32, 44


def compile_script(sources: Sources, order: Order) -> Script:
    """Return the script."""
    table = table_of(sources, order)
    nodes = grow(table, limits_of(sources.tables, order))
    wording = Wording(
        sources.installation, sources.rules, sources.words, order.owner, sources.unknowns,
        tuple(version.installation for version in sources.versions) or (sources.installation,),
    )  # fmt: skip
    rule = match_complaint(order.complaint, sources.rules)
    complaint = rule.id if rule is not None else ""
    ends, where = _ends(nodes, table, sources, order, wording, complaint)
    names = _names(nodes, where)
    steps: dict[str, Question | End] = {
        names[k]: _question(node, names, wording, len(table.danger), _more(nodes, k, {}))
        for k, node in enumerate(nodes) if node.take is not None
    }  # fmt: skip
    root, steps = trimmed(names[0], {**steps, **ends})
    cautions = _cautions(nodes, wording, complaint, () if order.owner else tuple(ends.values()))
    title = sources.installation.title
    heard = rule.says if rule is not None else ""
    return Script(
        title, order.complaint, order.owner, order.tools, order.allowed, root, cautions, steps, complaint, heard,
        wording.told(sources.words.first), len(wording.told(sources.words.opening)),
    )  # fmt: skip


def _cautions(nodes: list[Node], wording: Wording, complaint: str, repairs: Sequence[End]) -> tuple[str, ...]:
    """Return what stands before the first question: the opening, and in full every caution that a card, or an end after
    which a repair is made, reminds of.
    """
    rules = wording.rules
    ids = list(for_complaint(complaint, rules))
    for node in nodes:
        ids += wording.cautions(node.take) if node.take is not None else ()
    brief = {caution for end in repairs for caution in end.cautions}
    ids += [name for name, caution in rules.cautions.items() if caution.brief in brief]
    return (*wording.told(wording.words.opening), *(rules.cautions[name].says for name in dict.fromkeys(ids)))


def limits_of(tables: Tables, order: Order) -> Limits:
    """Return when asking ends."""
    n = {k: tables.number("scripts", k) for k in (
        "unusable", "questions_without_gain", "minutes_without_gain", "gain", "cannot")}  # fmt: skip
    return Limits(
        order.depth, OWNERS_WIDTH if order.owner else WIDTH, int(n["unusable"]), int(n["questions_without_gain"]),
        n["minutes_without_gain"], n["gain"], n["cannot"],
    )  # fmt: skip


def _ends(
    nodes: list[Node], table: Table, sources: Sources, order: Order, wording: Wording, complaint: str
) -> tuple[dict[str, End], dict[int, str]]:
    """Return the ends, those of which the same follows made one, and which node comes to which."""
    groups: dict[tuple[object, ...], list[int]] = {}
    beliefs: dict[int, Array] = {}
    for k, node in enumerate(nodes):
        if node.take is None:
            belief = table.grains.by_hypothesis(node.standing.weights)
            because = node.because or "tests_spent"
            decision = decided(belief, node.standing.unlisted, table, sources, order, because)
            beliefs[k] = belief
            leader = int(np.argmax(belief[1:])) if because == "found" else -1
            groups.setdefault((because, decision.send, decision.bring, decision.owner, leader), []).append(k)
    ends: dict[str, End] = {}
    where: dict[int, str] = {}
    for number, (key, members) in enumerate(groups.items(), 1):
        reach = np.array([nodes[k].standing.reach for k in members])
        share = reach / max(float(reach.sum()), 1e-300)
        belief = np.asarray(sum(s * beliefs[k] for s, k in zip(share, members, strict=True)))
        unlisted = float(sum(s * nodes[k].standing.unlisted for s, k in zip(share, members, strict=True)))
        because = str(key[0])
        decision = decided(belief, unlisted, table, sources, order, because)
        versions = sum(s * table.by_version(nodes[k].standing.weights) for s, k in zip(share, members, strict=True))
        told = Told(belief, unlisted, np.asarray(versions), decision, _spoken_for(belief, because, table))
        ends[f"e{number}"] = end_of(because, told, table.grains, wording, complaint)
        where |= dict.fromkeys(members, f"e{number}")
    return ends, where


def decided(
    belief: Array, unlisted: float, table: Table, sources: Sources, order: Order, because: str
) -> Decision:
    """Return what is done after a belief (hypotheses,) in the order of the table."""
    return decide(
        belief, unlisted, table.grains.hypotheses, sources.installation, sources.tables,
        owner_acts(sources.words.owner_can, order.allowed), because == "danger", sources.words.owner_not_with,
    )  # fmt: skip


def _spoken_for(belief: Array, because: str, table: Table) -> NDArray[np.bool_]:
    """Return which hypotheses (hypotheses,) an end names: all, but after a sign of danger those that it made likelier,
    since whoever reads it has the sign before them. What is brought is for all that is thought of all the same.
    """
    if because != "danger":
        return np.ones(len(belief), dtype=bool)
    raised = belief / np.maximum(table.grains.by_hypothesis(table.grains.before), 1e-300)
    return np.asarray(raised >= min(RAISED, float(raised[1:].max())))


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
    unit = None if take.quantity == UNKNOWN else QUANTITIES[take.quantity][1]
    answers = []
    for branch in node.branches:
        go = names[branch.to]
        if branch.read is not None:
            answers.append(Answer(wording.label(take, branch.read, danger), go, branch.read))
        else:
            label = band_label(branch.low, branch.high, unit or "")
            answers.append(Answer(label, go, None, branch.low, branch.high, unit))
    cautions = tuple(wording.rules.cautions[name].brief for name in wording.cautions(take))
    return Question(
        wording.say(take, danger), wording.how(take, danger), take, cautions, tuple(answers), round(node.minutes, 1),
        round(more, 1), danger,
    )  # fmt: skip

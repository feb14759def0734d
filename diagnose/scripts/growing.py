"""A script grown level by level on the table of outcomes: at each question the test that tells most a minute.

States of belief on one level that are nearly alike become one (`merging`). Words come later; here are numbers only.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.visits import Offered, by_worth
from diagnose.model.script import UNKNOWN
from diagnose.scripts.bands import best_cuts, held_back
from diagnose.scripts.merging import merged
from diagnose.scripts.outcomes import Grains, Outcomes
from diagnose.scripts.standing import Branch, Limits, Node, Pending, Standing, Table

__all__ = ["grow", "root_of", "step"]

#: bits below which a test is not worth its minutes; below which it is not asked only to confirm what is nearly sure
LEAST, UPSETTING = 0.01, 0.05
SURE, NEARLY = 0.95, 0.8
#: bits that a question about what is fitted may seem to tell by the chance of the draw alone
CHANCE = 0.03
#: chance that an answer is moved by a cause that is not listed; it then is any of the answers
MOVED = 0.25
#: belief in vehicles that have nothing to take a test at, from which on it is not asked
LACKING = 0.1


def grow(table: Table, limits: Limits) -> list[Node]:
    """Return the nodes of a script, the root first; branches name nodes by their number in the list."""
    nodes: list[Node] = []
    level: list[Pending] = [(root_of(table), None)]
    for depth in range(limits.depth + 1):
        first = len(nodes) + len(level)
        pending: list[Pending] = []
        fresh: list[Node] = []
        for standing, because in level:
            node, after = step(table, limits, standing, depth, because)
            fresh.append(node._replace(branches=tuple(b._replace(to=len(pending) + b.to) for b in node.branches)))
            pending += after
        level, numbers = merged(pending, table, limits, depth + 1 >= limits.depth)
        nodes += [n._replace(branches=tuple(b._replace(to=first + numbers[b.to]) for b in n.branches)) for n in fresh]
        if not level:
            break
    return nodes


def root_of(table: Table) -> Standing:
    """Return where a script begins."""
    whole = table.grains.before.sum() + table.grains.unlisted
    return Standing(table.grains.before / whole, table.grains.unlisted / whole, 1.0, frozenset(), 0)


def step(
    table: Table, limits: Limits, at: Standing, depth: int, because: str | None = None
) -> tuple[Node, list[Pending]]:
    """Return what follows from a standing after `depth` questions, and the standings that its answers lead to.

    Parameters: `because`, why it ends here whatever is believed. Branches name the standings by their number.
    """
    danger = at.danger < len(table.danger)
    if because is None and at.cannot >= limits.unusable:
        because = "unusable"
    if because is None and danger and depth >= limits.depth:
        because = "tests_spent"
    found: tuple[Outcomes, float] | None = None
    if because is None and danger:
        found = table.danger[at.danger], table.minutes(table.danger[at.danger].take, at.state)[0]
    elif because is None:
        because, found = _choice(table, limits, at, depth)
    if found is None:
        return Node(at, None, 0.0, (), because or "tests_spent"), []
    branches, pending = _branches(table, limits, at, *found)
    return Node(at, found[0].take, found[1], branches, None), pending


def _choice(
    table: Table, limits: Limits, at: Standing, depth: int
) -> tuple[str | None, tuple[Outcomes, float] | None]:
    """Return why it ends here, or the test that tells most a minute and its minutes."""
    held = np.add.reduceat(at.weights, table.grains.starts)
    sound, leader = float(held[0]), float(held[1:].max(initial=0.0))
    if sound >= SURE:
        return "no_fault", None
    if leader >= SURE:
        return "found", None
    if at.unlisted >= SURE:
        return "unlisted", None
    spent = depth >= limits.depth or at.dry >= limits.dry or at.minutes >= limits.minutes
    offered = [] if spent else _offered(table, at, held)
    bits = max((o.bits for o, _ in offered), default=0.0)
    if bits < UPSETTING and sound >= NEARLY:
        return "no_fault", None
    if bits < UPSETTING and leader >= NEARLY:
        return "found", None
    if bits < LEAST:
        return ("inseparable" if leader >= 0.5 else "tests_spent"), None
    best = by_worth([o for o, _ in offered if o.bits >= LEAST])[0]
    return None, (next(k for o, k in offered if o.take == best.take), table.minutes(best.take, at.state)[0])


def _offered(table: Table, at: Standing, held: Array) -> list[tuple[Offered, Outcomes]]:
    """Return every test that was not taken, with what it is expected to tell about what is to be done."""
    grains, total = table.grains, float(held.sum())
    alive = np.flatnonzero(at.weights > 1e-7)
    whole = len(alive) > 0.6 * len(at.weights)
    weights = (at.weights if whole else at.weights[alive]).astype(np.float32)
    acts = np.repeat(grains.acts[grains.units], grains.vehicles)[slice(None) if whole else alive]
    starts = np.flatnonzero(np.diff(np.concatenate([[-1], acts])))
    column = float(held_back(np.bincount(grains.acts, held / total)[None, :])[0])
    found = []
    for one in table.outcomes:
        lacking = 0.0 if one.lacks is None else float(at.weights[one.lacks].sum()) / total
        if one.take not in at.taken and lacking < LACKING:
            chance = one.chance if whole else one.chance[:, alive]
            joint = np.add.reduceat(chance * weights, starts, axis=1).astype(float) / total
            minutes, alone = table.minutes(one.take, at.state)
            bits = max(float(held_back(joint).sum()) - column, 0.0)
            if one.take.quantity != UNKNOWN or bits >= CHANCE:
                found.append((Offered(one.take, bits, minutes, alone), one))
    return found


def _branches(
    table: Table, limits: Limits, at: Standing, one: Outcomes, minutes: float
) -> tuple[tuple[Branch, ...], list[Pending]]:
    """Return the branches of a question, and the standing that each leads to."""
    found: list[Branch] = []
    pending: list[Pending] = []
    danger = at.danger < len(table.danger)
    signs = table.signs.get(one.take.quantity, ()) if danger else table.stops.get(one.take, ())
    for read, low, high, rows in _answers(table, at, one):
        chance = one.chance[rows].sum(axis=0)
        weights = at.weights * chance
        usual = float(chance[: table.grains.vehicles].mean())
        unlisted = at.unlisted * ((1.0 - MOVED) * usual + MOVED * len(rows) / len(one.chance))
        total = float(weights.sum()) + unlisted
        share = weights / max(total, 1e-300)
        told = _gain(table.grains, at.weights, share)
        dry = (0, 0.0) if told >= limits.gain else (at.dry + 1, at.minutes + minutes)
        after = at._replace(
            weights=share, unlisted=unlisted / max(total, 1e-300), reach=at.reach * total * (1.0 - limits.cannot),
            taken=at.taken | {one.take}, danger=at.danger + danger,
            state=one.take.when or at.state, cannot=0 if danger else at.cannot, dry=dry[0], minutes=dry[1],
        )  # fmt: skip
        found.append(Branch(read, low, high, total * (1.0 - limits.cannot), len(pending)))
        pending.append((after, "danger" if read in signs else None))
    # who does not know what is fitted, or cannot smell a battery, may answer all else; who can tell nothing of danger
    # is asked nothing more
    unusable = at.cannot + (one.take.quantity != UNKNOWN)
    if danger and at.danger + 1 == len(table.danger) > unusable:
        unusable = 0
    cannot = at._replace(
        taken=at.taken | {one.take}, danger=at.danger + danger, cannot=unusable,
        dry=at.dry + 1, minutes=at.minutes + minutes, reach=at.reach * limits.cannot,
    )  # fmt: skip
    found.append(Branch("skipped", None, None, limits.cannot, len(pending)))
    pending.append((cannot, None))
    return tuple(found), pending


def _answers(
    table: Table, at: Standing, one: Outcomes
) -> list[tuple[str | None, float | None, float | None, list[int]]]:
    """Return the answers of a test: bands cut for this belief, then words; each with its rows of the table."""
    found: list[tuple[str | None, float | None, float | None, list[int]]] = []
    if one.bins:
        acts = np.repeat(table.grains.acts[table.grains.units], table.grains.vehicles)
        starts = np.flatnonzero(np.diff(np.concatenate([[-1], acts])))
        joint = np.add.reduceat(one.chance[: one.bins] * at.weights, starts, axis=1)
        cuts = [0, *best_cuts(joint / max(float(joint.sum()), 1e-300)), one.bins]
        for start, end in pairwise(cuts):
            low = None if start == 0 else one.edges[start - 1]
            high = None if end == one.bins else one.edges[end - 1]
            found.append((None, low, high, list(range(start, end))))
    found += [(word, None, None, [one.bins + n]) for n, word in enumerate(one.words)]
    return found


def _gain(grains: Grains, before: Array, after: Array) -> float:
    """Return how far an answer moved belief by place [bit]."""
    p, q = (np.add.reduceat(w, grains.starts) for w in (after, before))
    p, q = p / max(p.sum(), 1e-300), q / max(q.sum(), 1e-300)
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(np.where(p > 0.0, p * np.log2(p / np.maximum(q, 1e-300)), 0.0).sum())

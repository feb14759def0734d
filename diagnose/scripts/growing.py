"""A script grown level by level on the table of outcomes: at each question the test that tells most a minute.

States of belief on one level that are nearly alike become one, with the union of what was asked, so that a tree of
thousands of paths has some hundred cards and no test stands twice on a path. Words come later; here are numbers only.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.visits import Offered, by_worth
from diagnose.model.reading import Take
from diagnose.scripts.bands import best_cuts, held_back
from diagnose.scripts.clusters import clustered
from diagnose.scripts.outcomes import Grains, Outcomes

__all__ = ["Branch", "Limits", "Node", "Standing", "Table", "grow", "root_of", "step"]

#: bits below which a test is not worth its minutes; below which it is not asked only to confirm what is nearly sure
LEAST, UPSETTING = 0.01, 0.05
SURE, NEARLY = 0.95, 0.8
#: chance that an answer is moved by a cause that is not listed; it then is any of the answers
MOVED = 0.25
#: how much more a difference in what needs nobody counts than one between places
NOBODY = 2.0


class Limits(NamedTuple):
    """When asking ends: `depth` questions, `width` cards a level, `unusable` answers, `dry` questions or `minutes`
    [min] without `gain` [bit]; `cannot`, the share of questions that are not answered.
    """

    depth: int
    width: int
    unusable: int
    dry: int
    minutes: float
    gain: float
    cannot: float


class Standing(NamedTuple):
    """A state of belief on one level: `weights` (grains,) with `unlisted`, summing to 1; `reach`, the chance to come
    here; what was asked, how often no answer was had, and questions and minutes since the last gain.
    """

    weights: Array
    unlisted: float
    reach: float
    taken: frozenset[Take]
    danger: int
    state: str | None = None
    cannot: int = 0
    dry: int = 0
    minutes: float = 0.0


#: a standing with why it ends at once, if it does
Pending = tuple[Standing, str | None]


class Branch(NamedTuple):
    """One answer of a question: a word, or a band; the number of the standing it leads to, `signs` a danger instead."""

    read: str | None
    low: float | None
    high: float | None
    chance: float
    to: int


class Node(NamedTuple):
    """A standing with what follows: the outcomes asked for and its branches, or why it ends."""

    standing: Standing
    take: Take | None
    minutes: float
    branches: tuple[Branch, ...]
    because: str | None


class Table(NamedTuple):
    """What scripts are grown on: grains, outcomes, those about danger with the words that end it, minutes by test
    and state.
    """

    grains: Grains
    outcomes: tuple[Outcomes, ...]
    danger: tuple[Outcomes, ...]
    signs: dict[str, tuple[str, ...]]
    minutes: Callable[[Take, str | None], tuple[float, float]]


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
        level, numbers = _merged(pending, table.grains, limits, depth + 1 >= limits.depth)
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
        if one.take not in at.taken:
            chance = one.chance if whole else one.chance[:, alive]
            joint = np.add.reduceat(chance * weights, starts, axis=1).astype(float) / total
            minutes, alone = table.minutes(one.take, at.state)
            found.append((Offered(one.take, max(float(held_back(joint).sum()) - column, 0.0), minutes, alone), one))
    return found


def _branches(
    table: Table, limits: Limits, at: Standing, one: Outcomes, minutes: float
) -> tuple[tuple[Branch, ...], list[Pending]]:
    """Return the branches of a question, and the standing that each leads to."""
    found: list[Branch] = []
    pending: list[Pending] = []
    signs = table.signs.get(one.take.quantity, ()) if at.danger < len(table.danger) else ()
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
            taken=at.taken | {one.take}, danger=at.danger + (at.danger < len(table.danger)), state=one.take.when,
            dry=dry[0], minutes=dry[1],
        )  # fmt: skip
        found.append(Branch(read, low, high, total * (1.0 - limits.cannot), len(pending)))
        pending.append((after, "danger" if read in signs else None))
    cannot = at._replace(
        taken=at.taken | {one.take}, danger=at.danger + (at.danger < len(table.danger)), cannot=at.cannot + 1,
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


def _merged(pending: list[Pending], grains: Grains, limits: Limits, last: bool) -> tuple[list[Pending], list[int]]:
    """Return standings with those that are alike made one, and for each of `pending` the number of its group.

    Only those with the same danger and the same number of answers that were not had are put together, the cheapest
    pair first: cost is what a pair differs by, squared, times how likely the rarer is. Those that end at once, and
    those after the `last` question, stay as they are.
    """
    numbers = [-1] * len(pending)
    asked: list[int] = []
    groups: list[list[int]] = []
    signs = [k for k, (_, because) in enumerate(pending) if because is not None]
    for k, (standing, because) in enumerate(pending):
        if because is None and (last or standing.cannot >= limits.unusable):
            groups.append([k])
        elif because is None:
            asked.append(k)
    groups += ([signs] if signs else []) + clustered(
        np.array([_features(pending[k][0], grains) for k in asked]),
        np.array([pending[k][0].reach for k in asked]),
        [(pending[k][0].cannot, pending[k][0].danger) for k in asked], limits.width, asked,
    )  # fmt: skip
    joined: list[Pending] = []
    for number, members in enumerate(groups):
        first, *others = sorted(members, key=lambda k: (-pending[k][0].reach, k))
        standing = pending[first][0]
        for k in others:
            standing = _joined(standing, pending[k][0])
        joined.append((standing, pending[first][1]))
        for k in members:
            numbers[k] = number
    return joined, numbers


def _features(standing: Standing, grains: Grains) -> Array:
    """Return belief by unit, and in what needs nobody, which counts most: by it a person is sent or not."""
    held = np.add.reduceat(standing.weights, grains.starts)
    return np.concatenate([held, [standing.unlisted, NOBODY * held[grains.acts == 0].sum()]])


def _joined(one: Standing, other: Standing) -> Standing:
    """Return two standings as one, weighted by how likely each is."""
    reach = one.reach + other.reach
    share = other.reach / max(reach, 1e-300)
    return one._replace(
        weights=(1.0 - share) * one.weights + share * other.weights,
        unlisted=(1.0 - share) * one.unlisted + share * other.unlisted,
        reach=reach, taken=one.taken | other.taken, dry=max(one.dry, other.dry),
        minutes=max(one.minutes, other.minutes),
    )  # fmt: skip

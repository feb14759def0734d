"""How often each fault occurs, learnt from repairs that were proved: counts on top of what the rules say.

Pure arithmetic on mappings from faults to numbers, so that exact fractions go through it as well. It must not know what
a job is, and must not open files.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from diagnose.model.installation import Installation
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import all_hypotheses

__all__ = ["STRENGTHS", "Learnt", "Lesson", "frequencies", "learn", "learnt_shares", "predictive", "weights_by_fault"]

Shares = Mapping[str, float]

#: how many repairs the rules may be worth; none is preferred, the repairs themselves tell which fits (judgement)
STRENGTHS = (50, 150, 500, 1500, 5000)
#: what the rules are worth within a family, against what they are worth between families (judgement)
WITHIN = 4
#: rounds after which frequencies that should show the learnt shares are taken as they are, and what is near enough
ROUNDS, NEAR = 200, 1e-9


class Learnt(NamedTuple):
    """The share of each fault among repairs, and how likely each of the `STRENGTHS` is what the rules are worth."""

    shares: dict[str, float]
    worth: dict[int, float]


class Lesson(NamedTuple):
    """What is learnt of one fault: proved repairs, its share among repairs and its frequency, before and after."""

    fault: str
    family: str
    proved: int
    share_before: float
    share_after: float
    weight_before: float
    weight_after: float


def weights_by_fault(installation: Installation, rules: RuleBase) -> dict[str, float]:
    """Return the weight of each fault on an installation over all places where it can sit there; 0 where none."""
    found = dict.fromkeys(rules.faults, 0.0)
    for hypothesis in all_hypotheses(installation, rules):
        if hypothesis.fault is not None:
            found[hypothesis.fault.fault] += hypothesis.weight
    return found


def predictive(
    prior: Shares, families: Mapping[str, str], counts: Mapping[str, int], strength: int
) -> dict[str, float]:
    """Return the chance of each fault to be the next that is repaired, the rules being worth `strength` repairs.

    A Dirichlet distribution over families and one within each family, so that a fault that was never met moves with
    its family: (strength P + N) / (strength + N of all) for a family, times the like within it.

    Parameters: `prior`, the share of each fault by the rules; `counts`, how often each was repaired.

    >>> from fractions import Fraction
    >>> even = {"blown": Fraction(1, 2), "melted": Fraction(1, 4), "worn": Fraction(1, 4)}
    >>> found = predictive(even, {"blown": "fuse", "melted": "fuse", "worn": "belt"}, {"blown": 2}, 4)
    >>> {name: str(chance) for name, chance in found.items()}
    {'blown': '20/27', 'melted': '5/54', 'worn': '1/6'}
    """
    shares, met = _by_family(prior, families), _by_family(counts, families)
    every = sum(met.values())
    found = {}
    for fault, share in prior.items():
        family = families[fault]
        if not share:
            found[fault] = share
            continue
        among = share / shares[family] * strength + WITHIN * counts.get(fault, 0)
        of_family = (shares[family] * strength + met.get(family, 0)) / (strength + every)
        found[fault] = of_family * among / (strength + WITHIN * met.get(family, 0))
    return found


def learnt_shares(prior: Shares, families: Mapping[str, str], counts: Mapping[str, int]) -> Learnt:
    """Return the shares of the faults after repairs, over all strengths by how well each foretold the repairs.

    The chance that a strength gives the repairs is the product of the chances it gave each before it was met (an urn);
    the order does not matter. Parameters as of `predictive`.
    Raises: ValueError for a repair of a fault without a share.

    >>> found = learnt_shares({"blown": 0.5, "worn": 0.5}, {"blown": "fuse", "worn": "belt"}, {"blown": 8})
    >>> round(found.shares["blown"], 3), max(found.worth, key=found.worth.get)
    (0.526, 50)
    """
    if not any(counts.values()):
        return Learnt(dict(prior), dict.fromkeys(STRENGTHS, 1.0 / len(STRENGTHS)))
    worth: dict[int, float] = dict.fromkeys(STRENGTHS, 1)
    met: Counter[str] = Counter()
    for fault, times in counts.items():
        if times and not prior.get(fault):
            raise ValueError(f"a repair of {fault}, which has no share")
        for _ in range(times):
            for strength in STRENGTHS:
                worth[strength] *= predictive(_alike(prior, families, fault), families, met, strength)[fault]
            met[fault] += 1
            total = sum(worth.values())
            worth = {strength: each / total for strength, each in worth.items()}
    by_strength = {strength: predictive(prior, families, counts, strength) for strength in STRENGTHS}
    shares = {fault: sum(worth[s] * by_strength[s][fault] for s in STRENGTHS) for fault in prior}
    return Learnt(shares, worth)


def frequencies(weights: Sequence[Shares], shares: Shares) -> dict[str, float]:
    """Return by how much the frequency of each fault is to be multiplied to show the shares on these installations.

    One installation takes one round; several are fitted by iterative scaling.

    Parameters: `weights`, of each fault on each installation, one for each repair; `shares`, wanted on the average.
    Returns: the factors, by which the mean weight is unchanged; none of a fault that sits nowhere here.
    Source: Darroch & Ratcliff, Generalized iterative scaling for log-linear models (1972, from memory).

    >>> frequencies([{"blown": 3.0, "worn": 1.0}], {"blown": 0.5, "worn": 0.5})
    {'blown': 0.6666666666666666, 'worn': 2.0}
    """
    kinds = Counter(tuple(each[fault] for fault in shares) for each in weights)
    before = _mean_shares(kinds, [1.0] * len(shares))
    factors = [1.0] * len(shares)
    for _ in range(ROUNDS):
        now = _mean_shares(kinds, factors)
        steps = [wanted / has if has else 1.0 for wanted, has in zip(shares.values(), now, strict=True)]
        factors = [factor * step for factor, step in zip(factors, steps, strict=True)]
        if max(abs(step - 1.0) for step in steps) < NEAR:
            break
    scale = sum(share * factor for share, factor in zip(before, factors, strict=True))
    told = zip(shares, factors, before, strict=True)
    return {fault: factor / scale for fault, factor, share in told if share}


def learn(rules: RuleBase, repairs: Sequence[tuple[Shares, str]]) -> tuple[tuple[Lesson, ...], float]:
    """Return what proved repairs teach of each fault of the rules, and their weight [0 to 1] against the rules.

    Parameters: `repairs`: of each, the weights of all faults on its installation, as `weights_by_fault` has them, and
    the fault.
    Returns: the faults in the order of the rules; nothing changes where there are no repairs.
    Raises: ValueError for a fault that cannot sit on any of the installations.
    """
    families = {name: rule.family for name, rule in rules.faults.items()}
    weights = [each for each, _ in repairs]
    counts = Counter(fault for _, fault in repairs)
    kinds = Counter(tuple(each[fault] for fault in families) for each in weights)
    before = dict(zip(families, _mean_shares(kinds, [1.0] * len(families)), strict=True))
    after, worth = learnt_shares(before, families, counts)
    factors = frequencies(weights, after) if repairs else {}
    own, moved = _by_family(before, families), _by_family(after, families)
    lessons = []
    for name, rule in rules.faults.items():
        weight = rule.frequency.weight
        of_family = moved[rule.family] / own[rule.family] if own[rule.family] else 1.0
        lessons.append(
            Lesson(name, rule.family, counts[name], before[name], after[name], weight,
                   weight * factors.get(name, of_family))
        )  # fmt: skip
    return tuple(lessons), sum(chance * len(repairs) / (strength + len(repairs)) for strength, chance in worth.items())


def _by_family(numbers: Mapping[str, float], families: Mapping[str, str]) -> dict[str, float]:
    found: dict[str, float] = {}
    for fault, number in numbers.items():
        found[families[fault]] = found.get(families[fault], 0) + number
    return found


def _alike(prior: Shares, families: Mapping[str, str], fault: str) -> Shares:
    """Return the shares of the family of a fault alone: the others do not count for its chance."""
    return {name: share for name, share in prior.items() if families[name] == families[fault]}


def _mean_shares(kinds: Mapping[tuple[float, ...], int], factors: Sequence[float]) -> list[float]:
    """Return the share of each fault on the average of installations, its weight there times its factor."""
    found = [0.0] * len(factors)
    every = sum(kinds.values())
    for weights, times in kinds.items():
        products = [weight * factor for weight, factor in zip(weights, factors, strict=True)]
        total = sum(products) * every / times
        found = [share + product / total for share, product in zip(found, products, strict=True)]
    return found

"""The engine's belief against a general library of Bayesian networks, on discrete problems and on discretised ones."""

from __future__ import annotations

import warnings
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest

from diagnose.inference import bank as bank_module
from diagnose.inference.bank import MISTAKEN, Bank, build_bank, fit
from diagnose.inference.evidence import Evidence, Source, gather
from diagnose.inference.posterior import believe, strata_of
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Take
from tests.inference.discrete import after_words, chance_of_words
from tests.inference.engines import answers, engine, word

with warnings.catch_warnings():  # its compiled part warns as it loads, and ends the process where that raises
    warnings.simplefilter("ignore")
    import pyagrum

LAYOUT = "crew_cab_tray"
#: width of the cell that a number read stands for: so narrow that its chance is density times width
CELL = 1e-4


@pytest.fixture(autouse=True)
def no_number_is_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """The oracle knows good and mistaken numbers only; those that are off are checked where subsets are enumerated."""
    monkeypatch.setattr(bank_module, "OFF", 0.0)


def network(nodes: dict[str, tuple[int, tuple[str, ...]]]) -> Any:
    """Return an empty network of nodes with their number of states and their parents."""
    net = pyagrum.BayesNet("test")
    for name, (states, _) in nodes.items():
        net.add(pyagrum.LabelizedVariable(name, name, states))
    for name, (_, parents) in nodes.items():
        for parent in parents:
            net.addArc(parent, name)
    return net


def asked(net: Any, target: str, evidence: dict[str, int]) -> np.ndarray:
    inference = pyagrum.LazyPropagation(net)
    inference.setEvidence(evidence)
    inference.makeInference()
    return np.asarray(inference.posterior(target).toarray())


#: the chest clinic: chance of yes by the answers of the parents, in their order, no before yes
CLINIC: dict[str, tuple[tuple[str, ...], tuple[float, ...]]] = {
    "asia": ((), (0.01,)),
    "smoke": ((), (0.5,)),
    "tub": (("asia",), (0.01, 0.05)),
    "lung": (("smoke",), (0.01, 0.1)),
    "bronc": (("smoke",), (0.3, 0.6)),
    "either": (("tub", "lung"), (0.0, 1.0, 1.0, 1.0)),
    "xray": (("either",), (0.05, 0.98)),
    "dysp": (("bronc", "either"), (0.1, 0.7, 0.8, 0.9)),
}
HIDDEN = ("asia", "smoke", "tub", "lung", "bronc")


def clinic() -> Any:
    net = network({name: (2, parents) for name, (parents, _) in CLINIC.items()})
    for name, (parents, chances) in CLINIC.items():
        for answers_of, chance in zip(product((0, 1), repeat=len(parents)), chances, strict=True):
            where = dict(zip(parents, answers_of, strict=True))
            net.cpt(name)[where if where else slice(None)] = [1 - chance, chance]
    return net


def clinic_by_engine(target: str, evidence: dict[str, int]) -> float:
    """Return the chance of a hidden node from the engine's update: every state of the hidden nodes is a hypothesis."""
    states = [dict(zip(HIDDEN, each, strict=True)) for each in product((0, 1), repeat=len(HIDDEN))]
    for state in states:
        state["either"] = state["tub"] | state["lung"]

    def chance(name: str, state: dict[str, int], value: int) -> float:
        if name in state:
            return float(state[name] == value)
        parents, chances = CLINIC[name]
        yes = chances[int("".join(str(state[p]) for p in parents), 2)]
        return yes if value else 1 - yes

    prior = np.ones(len(states))
    for row, state in enumerate(states):
        for name in HIDDEN:
            parents, chances = CLINIC[name]
            yes = chances[int("".join(str(state[p]) for p in parents) or "0", 2)]
            prior[row] *= yes if state[name] else 1 - yes
    found = np.array([[chance(name, state, value) for name, value in evidence.items()] for state in states])
    belief = after_words(prior, found)
    if target == "":
        return chance_of_words(belief)
    return float(belief.posterior[[state[target] == 1 for state in states]].sum())


@pytest.mark.parametrize(
    ("target", "evidence", "expected"),
    [
        ("", {"dysp": 1}, 0.4359706),
        ("bronc", {"dysp": 1}, 0.83396734),
        ("lung", {"dysp": 1}, 0.10275922),
        ("tub", {"asia": 1, "dysp": 1}, 0.08775096),
        ("tub", {"asia": 1, "dysp": 1, "xray": 1}, 0.39171172),
        ("lung", {"xray": 1, "smoke": 0}, 0.14228617),
    ],
)
def test_chest_clinic(target: str, evidence: dict[str, int], expected: float) -> None:
    # Source: S. L. Lauritzen, D. J. Spiegelhalter 1988 (published tables); pyagrum
    assert clinic_by_engine(target, evidence) == pytest.approx(expected, abs=2e-8)
    if target:
        assert asked(clinic(), target, evidence)[1] == pytest.approx(expected, abs=2e-8)


def test_noisy_or() -> None:
    # Source: invented; exact, and pyagrum
    net = network({"A": (2, ()), "B": (2, ()), "S": (2, ("A", "B"))})
    net.cpt("A")[:], net.cpt("B")[:] = [0.9, 0.1], [0.95, 0.05]
    states = list(product((0, 1), repeat=2))
    chances = np.array([1 - 0.98 * (1 - 0.9) ** a * (1 - 0.8) ** b for a, b in states])
    for (a, b), yes in zip(states, chances, strict=True):
        net.cpt("S")[{"A": a, "B": b}] = [1 - yes, yes]
    prior = np.array([(0.1 if a else 0.9) * (0.05 if b else 0.95) for a, b in states])
    belief = after_words(prior, chances[:, None])
    neither, only_b, only_a, both = belief.posterior
    assert chance_of_words(belief) == pytest.approx(0.143872, abs=1e-6)
    found = [only_a + both, only_b + both, both]
    assert found == pytest.approx([0.629671, 0.285545, 0.034072], abs=1e-6)
    assert found[:2] == pytest.approx([asked(net, name, {"S": 1})[1] for name in "AB"], abs=1e-9)
    b_known = after_words(prior, np.stack([chances, [float(b) for _, b in states]], axis=1)).posterior
    assert b_known[3] == pytest.approx(0.119322, abs=1e-6)
    assert b_known[3] == pytest.approx(asked(net, "A", {"S": 1, "B": 1})[1], abs=1e-9)
    assert neither > 0


def cell_chance(bank: Bank, read: np.ndarray, stratum: int, number: int, given: list[int]) -> float:
    """Return the chance of a number in its cell within a stratum, the numbers `given` being as read."""
    mean, cov = bank.mean[stratum], bank.covariance[stratum]
    middle, variance = mean[number], cov[number, number]
    if given:
        gain = np.linalg.solve(cov[np.ix_(given, given)], cov[given, number])
        middle, variance = middle + gain @ (read[given] - mean[given]), variance - gain @ cov[given, number]
    return float(CELL * np.exp(-0.5 * (read[number] - middle) ** 2 / variance) / np.sqrt(2.0 * np.pi * variance))


def discretised(evidence: Evidence, bank: Bank, prior: np.ndarray) -> tuple[Any, list[tuple[int, ...]]]:
    """Return a network of fault, vehicle, stratum, mistakes, words and numbers, and the patterns of mistakes.

    A number is in its cell or not; its chance hangs on the stratum, on the numbers before it and on which are mistaken.
    """
    h, m, n = evidence.predicted.shape
    patterns = [each for size in range(3) for each in combinations(range(n), size)]
    names = [f"number{i}" for i in range(n)]
    words = [f"word{k}" for k in range(evidence.words.shape[-1])]
    strata = len(bank.owner)
    nodes: dict[str, tuple[int, tuple[str, ...]]] = {
        "fault": (h, ()), "vehicle": (m, ()), "stratum": (strata, ("fault", "vehicle")), "mistakes": (len(patterns), ())
    }  # fmt: skip
    nodes |= dict.fromkeys(words, (2, ("fault", "vehicle")))
    nodes |= {name: (2, ("stratum", "mistakes", *names[:i])) for i, name in enumerate(names)}
    net = network(nodes)
    net.cpt("fault")[:], net.cpt("vehicle")[:] = prior.tolist(), [1.0 / m] * m
    weight = np.array([MISTAKEN ** len(p) * (1.0 - MISTAKEN) ** (n - len(p)) for p in patterns])
    net.cpt("mistakes")[:] = (weight / weight.sum()).tolist()
    for fault, vehicle in product(range(h), range(m)):
        where = {"fault": fault, "vehicle": vehicle}
        net.cpt("stratum")[where] = np.eye(strata)[bank.member[fault, vehicle]].tolist()
        for k, name in enumerate(words):
            chance = float(evidence.words[fault, vehicle, k])
            net.cpt(name)[where] = [1.0 - chance, chance]
    for i, name in enumerate(names):
        for stratum, (p, pattern) in product(range(strata), enumerate(patterns)):
            sound = [j for j in range(i) if j not in pattern]
            chance = cell_chance(bank, evidence.read, stratum, i, sound)
            chance = CELL / float(evidence.width[i]) if i in pattern else chance
            assert chance < 0.5
            for before in product((0, 1), repeat=i):
                where = {"stratum": stratum, "mistakes": p} | dict(zip(names, before, strict=False))
                net.cpt(name)[where] = [1.0 - chance, chance] if all(before) else [0.5, 0.5]
    return net, patterns


def made_up() -> tuple[Evidence, np.ndarray]:
    """Return three numbers and two words under four hypotheses, two of them in two modes, and strata."""
    chance = np.random.default_rng(11)
    h, m, n = 4, 24, 3
    shared = chance.normal(size=(1, m, n)) @ np.array([[0.1, 0.05, 0.0], [0.0, 0.1, 0.08], [0.0, 0.0, 0.1]])
    predicted = 13.0 + chance.normal(size=(h, 1, n)) + shared
    mode = (chance.random((h, m)) > 0.7) * (np.arange(h) > 1)[:, None] * 1.0
    evidence = Evidence(
        (0, 1, 2), predicted[2, 5] + np.array([0.02, -0.03, 1.5]), predicted, np.full((h, m, n), 0.03),
        np.full(n, 16.0), (3, 4), chance.uniform(0.05, 0.95, (h, m, 2)), mode,
    )  # fmt: skip
    return evidence, np.tile(np.arange(m) % 3, (h, 1))


def of_a_vehicle() -> tuple[Evidence, np.ndarray]:
    """Return three numbers and two words of a simulated vehicle under six hypotheses of the engine."""
    took = answers(
        LAYOUT, FaultAt("high_resistance", "tray_strap", size=0.03),
        Take("volts", ("charger_in", "charger_neg"), "engine_running"),
        Take("volts", ("tray", "chassis"), "engine_running"),
        Take("volts", ("start_pos", "start_neg"), "engine_running"),
    )  # fmt: skip
    asking = engine(LAYOUT)
    labels = [hypothesis.label for hypothesis in asking.hypotheses]
    named = [f"high_resistance {part}" for part in ("tray_strap", "input_fuse")]
    named += ["open_circuit tray_strap", "undersized input_cable"]
    which = [0, *(next(i for i, label in enumerate(labels) if label.startswith(name)) for name in named)]
    readings = (*took, word("look", "tray_strap", "corroded"), word("tug", "tray_strap", "good"))
    whole = gather(readings, [Source(asking.predictor)], asking.sights)
    rows = {name: getattr(whole, name)[which] for name in ("predicted", "noise", "words", "mode")}
    evidence = whole._replace(**rows)
    return evidence, strata_of(asking.predictor, which)[0]


@pytest.mark.parametrize("problem", [made_up, of_a_vehicle])
def test_belief_is_that_of_a_network(problem: Any) -> None:
    # Source: pyagrum, lazy propagation
    evidence, strata = problem()
    h = evidence.predicted.shape[0]
    prior = np.arange(h, 0, -1) / np.arange(1, h + 1).sum()
    belief = believe(prior, evidence, strata)
    net, patterns = discretised(evidence, belief.bank, prior)
    names = [f"number{i}" for i in range(evidence.predicted.shape[2])]
    found = dict.fromkeys([*names, *(f"word{k}" for k in range(evidence.words.shape[2]))], 1)
    assert belief.posterior == pytest.approx(asked(net, "fault", found), abs=1e-6)
    for fault in range(h):
        mistakes = asked(net, "mistakes", found | {"fault": fault})
        for i in range(evidence.predicted.shape[2]):
            wrong = sum(mistakes[p] for p, pattern in enumerate(patterns) if i in pattern)
            assert belief.fit.wrong[fault, i] == pytest.approx(wrong, abs=1e-6), (fault, i)


def test_a_number_left_out_is_a_network_without_it() -> None:
    # Source: pyagrum, lazy propagation
    evidence, strata = made_up()
    bank = build_bank(evidence, strata)
    whole = fit(evidence, bank)
    prior = np.full(4, 0.25)
    net, _ = discretised(evidence, bank, prior)
    found = {"number0": 1, "number1": 1, "word0": 1, "word1": 1}
    like = prior * np.exp(whole.without[:, 2] - whole.without[:, 2].max())
    assert like / like.sum() == pytest.approx(asked(net, "fault", found), abs=1e-3)

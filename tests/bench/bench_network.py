"""The engine's belief and a plain Bayesian network of the same small problem, from evidence to posterior.

Faults, words that were seen, no numbers: what both can say exactly. The network, of a general library, is built once;
each asks for the posterior of the faults, every word being given. Measured is processor time.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from time import process_time
from typing import Any

import numpy as np

from tests.inference.discrete import after_words

with warnings.catch_warnings():  # its compiled part warns as it loads
    warnings.simplefilter("ignore")
    import pyagrum

__all__ = ["figures"]

FAULTS, WORDS, RUNS = 200, 12, 50


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    random = np.random.default_rng(3)
    prior = random.dirichlet(np.ones(FAULTS))
    chances = random.uniform(0.05, 0.95, (FAULTS, WORDS))
    net = _network(prior, chances)

    def asked() -> Any:
        inference = pyagrum.LazyPropagation(net)
        inference.setEvidence({f"word{k}": 1 for k in range(WORDS)})
        inference.makeInference()
        return np.asarray(inference.posterior("fault").toarray())

    apart = float(np.abs(asked() - after_words(prior, chances).posterior).max())
    own, theirs = _least(lambda: after_words(prior, chances)), _least(asked)
    what = f"posterior of {FAULTS} faults after {WORDS} words"
    yield f"{what}, the engine", f"{1e3 * own:.2f} ms", ""
    yield f"{what}, a Bayesian network (at most {apart:.0e} apart)", f"{theirs / own:.1f} x the engine's time", ""


def _network(prior: np.ndarray, chances: np.ndarray) -> Any:
    net = pyagrum.BayesNet("bench")
    net.add(pyagrum.LabelizedVariable("fault", "fault", FAULTS))
    net.cpt("fault")[:] = prior.tolist()
    for k in range(WORDS):
        net.add(pyagrum.LabelizedVariable(f"word{k}", f"word{k}", 2))
        net.addArc("fault", f"word{k}")
        for fault in range(FAULTS):
            chance = float(chances[fault, k])
            net.cpt(f"word{k}")[{"fault": fault}] = [1.0 - chance, chance]
    return net


def _least(work: Callable[[], Any]) -> float:
    best = float("inf")
    for _ in range(RUNS):
        begun = process_time()
        work()
        best = min(best, process_time() - begun)
    return best

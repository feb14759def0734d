"""The records that a script is grown from: the table of outcomes, states of belief, questions and what ends them.

They hold numbers only; what follows from them is the business of `growing`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Take
from diagnose.scripts.outcomes import Grains, Outcomes

__all__ = ["Branch", "Limits", "Node", "Pending", "Standing", "Table"]


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
    """What scripts are grown on: grains, outcomes, those about danger with the words that end it, the words that end
    it on any other card (`stops`), minutes by test and state; `versions` (vehicles,), the number of the version of each
    vehicle, None where there is one only.
    """

    grains: Grains
    outcomes: tuple[Outcomes, ...]
    danger: tuple[Outcomes, ...]
    signs: dict[str, tuple[str, ...]]
    stops: Mapping[Take, tuple[str, ...]]
    minutes: Callable[[Take, str | None], tuple[float, float]]
    versions: NDArray[np.intp] | None = None

    def by_version(self, weights: Array) -> Array:
        """Return weights (grains,) summed by version; all in one where there are no versions."""
        if self.versions is None:
            return np.array([weights.sum()])
        vehicles = weights.reshape(-1, self.grains.vehicles).sum(axis=0)
        return np.asarray(np.bincount(self.versions, vehicles))

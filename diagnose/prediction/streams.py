"""Random draws with a name: each unknown has its own stream, so that every hypothesis meets the same vehicles.

Adding a part or a fault leaves the draws of all other unknowns as they were.
"""

from __future__ import annotations

import math
import zlib

import numpy as np

from diagnose.basics.quantities import Span
from diagnose.circuit.elimination import Array

__all__ = ["Streams"]


class Streams:
    """Named streams of random numbers for `count` vehicles.

    `stretch` above 1 spreads every unknown wider than the tables say, by that factor about its middle: a vehicle that
    the tables do not describe well.
    """

    def __init__(self, seed: int, count: int, stretch: float = 1.0) -> None:
        """Begin with a seed; the same seed gives the same draws."""
        self.seed = seed
        self.count = count
        self.stretch = stretch
        self._drawn: dict[tuple[str, str], Array] = {}

    def first(self, count: int) -> Streams:
        """Return streams that hold only the first `count` of these vehicles."""
        return _First(self, count)

    def with_count(self, count: int) -> Streams:
        """Return streams of another number of vehicles, which are others."""
        return Streams(self.seed, count, self.stretch)

    def _generator(self, name: str) -> np.random.Generator:
        return np.random.Generator(np.random.PCG64([self.seed, zlib.crc32(name.encode())]))

    def share(self, name: str) -> Array:
        """Return numbers spread evenly over 0 to 1, one from each of `count` equal strata, in random order."""
        if ("share", name) not in self._drawn:
            generator = self._generator(name)
            even = (generator.permutation(self.count) + generator.random(self.count)) / self.count
            self._drawn[("share", name)] = even
        return self._drawn[("share", name)]

    def even(self, name: str, low: float, high: float) -> Array:
        """Return numbers spread evenly from `low` to `high`."""
        return low + (high - low) * (0.5 + self.stretch * (self.share(name) - 0.5))

    def normal(self, name: str) -> Array:
        """Return normal numbers of standard deviation `stretch`."""
        if ("normal", name) not in self._drawn:
            self._drawn[("normal", name)] = self.stretch * self._generator(name).standard_normal(self.count)
        return self._drawn[("normal", name)]

    def span(self, name: str, span: Span) -> Array:
        """Return numbers spread evenly over a span; its one value where it is known."""
        return self.even(name, span.low, span.high) if span.low != span.high else np.full(self.count, span.low)

    def factor(self, name: str, most: float) -> Array:
        """Return factors between 1/most and most, their logarithms spread evenly."""
        return np.exp(self.even(name, -math.log(most), math.log(most)))

    def log_normal(self, name: str, median: float, factor: float) -> Array:
        """Return log-normal numbers; `factor` is one standard deviation."""
        return median * np.exp(math.log(factor) * self.normal(name))


class _First(Streams):
    """The first vehicles of other streams."""

    def __init__(self, whole: Streams, count: int) -> None:
        super().__init__(whole.seed, min(count, whole.count), whole.stretch)
        self._whole = whole

    def share(self, name: str) -> Array:
        return self._whole.share(name)[: self.count]

    def normal(self, name: str) -> Array:
        return self._whole.normal(name)[: self.count]

"""Solved conditions of an installation under its hypotheses, kept so that a state is solved once for each hypothesis.

A condition is an operating state with what is temporarily fitted. What is kept is small: node voltages and branch
currents in single precision (a microvolt), since everything else follows from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.alike import likeness
from diagnose.circuit.conditions import Modes
from diagnose.circuit.elimination import Array
from diagnose.circuit.faults import Variant, apply_fault, together, variant_of
from diagnose.circuit.graph import Edge
from diagnose.circuit.modes import Solution, shown_resistance, solve_states
from diagnose.circuit.parameters import Parameters, columns, join
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.parts import Charger, Part
from diagnose.model.rules import SizeRange
from diagnose.prediction.fitting import Fitted, set_fitted
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.readers import Scene
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import Vehicles, draw_vehicles

__all__ = ["Given", "Solver", "sizes_of", "spare_of"]

#: variants taken at a time, of which a third or so are solved
CHUNK = 8192
#: tolerance of currents good enough for predictions [A]; the exact circuit is some thousand times closer
TOLERANCE = 1e-6


class Given(NamedTuple):
    """A fault that all vehicles have, beside that of the hypothesis, with its size by vehicle."""

    hypothesis: Hypothesis
    size: Array


class Solver:
    """Solves conditions hypothesis by hypothesis, on the same possible vehicles."""

    def __init__(
        self, installation: Installation, tables: Tables, hypotheses: Sequence[Hypothesis], streams: Streams,
        given: Sequence[Given] = (),
    ) -> None:  # fmt: skip
        """Prepare; nothing is solved yet."""
        self.installation, self.tables, self.streams, self.given = installation, tables, streams, tuple(given)
        self.hypotheses = tuple(hypotheses)
        self._variants = self._all_variants()
        self._wired: dict[tuple[Variant, Fitted], tuple[Wiring, Vehicles]] = {}
        self._numbers: dict[tuple[int, Fitted], Parameters] = {}
        self._kept: dict[tuple[Fitted, int], tuple[Parameters, Solution]] = {}

    def scenes(self, fitted: Fitted, numbers: Sequence[int]) -> Iterator[tuple[list[int], Scene]]:
        """Yield solved scenes that together hold the hypotheses of the given numbers, each with its rows among them."""
        for variant, rows in self._by_variant(numbers, fitted).items():
            wiring, vehicles = self._wire(variant, fitted)
            unsolved = [numbers[r] for r in rows if (fitted, numbers[r]) not in self._kept]
            missing = self._alike_together(unsolved, fitted, wiring, vehicles)
            step = max(CHUNK // self.streams.count, 1)
            for first in range(0, len(missing), step):
                self._solve((fitted,), missing[first : first + step], wiring, vehicles)
            for first in range(0, len(rows), step):
                some = rows[first : first + step]
                kept = [self._kept[(fitted, numbers[r])] for r in some]
                parameters, solution = join([k[0] for k in kept]), _joined([k[1] for k in kept])
                shown = shown_resistance(wiring, parameters, fitted.state, solution.modes)
                whole = solution._replace(resistance=shown)
                yield some, Scene(wiring, parameters, whole, vehicles, self.tables, fitted.state)

    def _alike_together(self, numbers: Sequence[int], fitted: Fitted, wiring: Wiring, vehicles: Vehicles) -> list[int]:
        """Put hypotheses side by side that make the same circuit, so that they are solved in one batch, and once."""
        if len(numbers) * self.streams.count <= CHUNK:
            return list(numbers)
        first = [columns(self._numbers_of(n, fitted, wiring, vehicles), slice(0, 1)) for n in numbers]
        alike = likeness(wiring, join(first))
        return [numbers[k] for k in np.argsort(alike, kind="stable")]

    def solve_together(self, conditions: Sequence[Fitted], numbers: Sequence[int]) -> None:
        """Solve several states at once where few hypotheses are left, for which a batch of one state is too small."""
        if not conditions or len(numbers) * self.streams.count > CHUNK // 2:
            return
        for variant, rows in self._by_variant(numbers, conditions[0]).items():
            wiring, vehicles = self._wire(variant, conditions[0])
            missing = [numbers[r] for r in rows if any((f, numbers[r]) not in self._kept for f in conditions)]
            step = max(CHUNK // (self.streams.count * len(conditions)), 1)
            for first in range(0, len(missing), step):
                self._solve(conditions, missing[first : first + step], wiring, vehicles)

    def forget(self, fitted: Fitted) -> None:
        """Drop what is kept of one condition."""
        for key in [key for key in self._kept if key[0] == fitted]:
            del self._kept[key]

    def sound_vehicles(self) -> Vehicles:
        """Return the vehicles without any fault and with nothing fitted."""
        return self._wire(self._with_given(()), Fitted(""))[1]

    def _all_variants(self) -> tuple[Variant, ...]:
        """Return the wiring that each hypothesis needs.

        All that need extra edges share one wiring, in which each edge is open but for its own hypothesis: one large
        batch is solved much faster than many small ones.
        """
        own = [self._variant_of(h) for h in self.hypotheses]
        every = self._with_given(tuple(dict.fromkeys(edge for variant in own for edge in variant.extra)))
        return tuple(every if variant.extra else self._with_given((), variant.swapped) for variant in own)

    def _variant_of(self, hypothesis: Hypothesis) -> Variant:
        fault, rule = hypothesis.fault, hypothesis.rule
        return Variant() if fault is None or rule is None else variant_of(self.installation, fault, rule.change)

    def _with_given(self, extra: tuple[Edge, ...], swapped: frozenset[str] = frozenset()) -> Variant:
        """Return a wiring with what the given faults need as well."""
        return together([Variant(extra, swapped), *(self._variant_of(g.hypothesis) for g in self.given)])

    def _by_variant(self, numbers: Sequence[int], fitted: Fitted) -> dict[Variant, list[int]]:
        """Sort the hypotheses by the wiring that they need; a part replaced by a good one needs none of its own."""
        groups: dict[Variant, list[int]] = {}
        for row, number in enumerate(numbers):
            fault = self.hypotheses[number].fault
            sound = fault is None or fitted.swap == fault.part
            groups.setdefault(self._with_given(()) if sound else self._variants[number], []).append(row)
        return groups

    def _wire(self, variant: Variant, fitted: Fitted) -> tuple[Wiring, Vehicles]:
        """Return the wiring of a variant with what is fitted, and its sound vehicles."""
        key = (variant, fitted._replace(state="", swap=fitted.swap if self.given else None))
        if key not in self._wired:
            wiring = build_wiring(self.installation, variant.extra + fitted.edges, variant.swapped)
            vehicles = draw_vehicles(wiring, self.tables, self.streams)
            set_fitted(wiring, vehicles.parameters, self.tables)
            for fault, rule, size in ((g.hypothesis.fault, g.hypothesis.rule, g.size) for g in self.given):
                if fault is not None and rule is not None and fault.part != fitted.swap:
                    spare = self.streams.share(f"given spare {fault.fault}")
                    apply_fault(wiring, vehicles.parameters, fault, rule.change, size, spare)
            self._wired[key] = (wiring, vehicles)
        return self._wired[key]

    def _solve(
        self, conditions: Sequence[Fitted], numbers: Sequence[int], wiring: Wiring, vehicles: Vehicles
    ) -> None:
        """Solve conditions that differ in their state alone, under some hypotheses of one wiring, and keep what
        follows.
        """
        each = [self._numbers_of(n, conditions[0], wiring, vehicles) for n in numbers]
        count = self.streams.count
        solutions = solve_states(wiring, join(each), [f.state for f in conditions], TOLERANCE, count)
        for fitted, solution in zip(conditions, solutions, strict=True):
            for k, (number, parameters) in enumerate(zip(numbers, each, strict=True)):
                own = _part(solution, slice(k * count, (k + 1) * count))
                self._kept[(fitted, number)] = _settled(parameters, own)

    def _numbers_of(self, number: int, fitted: Fitted, wiring: Wiring, vehicles: Vehicles) -> Parameters:
        """Return the numbers of the vehicles under one hypothesis; what a fault does not change is shared."""
        hypothesis = self.hypotheses[number]
        fault, rule = hypothesis.fault, hypothesis.rule
        if fault is None or rule is None or fitted.swap == fault.part:
            return vehicles.parameters
        key = (number, fitted._replace(state=""))
        if key not in self._numbers:
            self._numbers[key] = self._changed(hypothesis, wiring, vehicles)
        return self._numbers[key]

    def _changed(self, hypothesis: Hypothesis, wiring: Wiring, vehicles: Vehicles) -> Parameters:
        """Return the numbers of the vehicles with a fault."""
        fault, rule = hypothesis.fault, hypothesis.rule
        assert fault is not None
        assert rule is not None
        parameters = _CopiedWhenUsed(vehicles.parameters)
        size = sizes_of(hypothesis, self.installation, self.streams)
        apply_fault(wiring, parameters, fault, rule.change, size, spare_of(fault, self.streams))
        return dict(parameters)


class _CopiedWhenUsed(dict[str, Array]):
    """Numbers of vehicles of which an array is copied when it is first asked for, so that it may be changed."""

    def __init__(self, numbers: Parameters) -> None:
        super().__init__(numbers)
        self._own: set[str] = set()

    def __getitem__(self, name: str) -> Array:
        if name not in self._own:
            self._own.add(name)
            self[name] = super().__getitem__(name).copy()
        return super().__getitem__(name)


def _settled(parameters: Parameters, solution: Solution) -> tuple[Parameters, Solution]:
    """Return vehicles without those for which no solution was found: a vehicle that was solved stands in for each.

    Where none was solved all keep the numbers of the last round: one strange fault must not end the ranking of all.
    """
    if solution.settled.all():
        return parameters, solution
    good = np.flatnonzero(solution.settled)
    if not good.size:
        return parameters, solution
    stand_in = np.where(solution.settled, np.arange(len(solution.settled)), np.resize(good, len(solution.settled)))
    modes = Modes(*(rows[:, stand_in] for rows in solution.modes))
    arrays = (a[..., stand_in] for a in solution[:6])
    voltage, current, low_voltage, low_current, slope, resistance = arrays
    whole = Solution(voltage, current, low_voltage, low_current, slope, resistance, modes, solution.settled[stand_in])
    return columns(parameters, stand_in), whole


def _part(solution: Solution, which: slice) -> Solution:
    """Return some variants of a solution, in single precision, without the resistances, which are had again easily."""
    voltage, current, slope = (a[..., which].astype(np.float32) for a in (solution[0], solution[1], solution[4]))
    low_voltage, low_current = voltage, current
    modes = Modes(*(m[:, which] if m.dtype == bool else m[:, which].astype(np.float32) for m in solution.modes))
    if modes.held.any() or modes.chatter.any():
        low_voltage, low_current = (a[..., which].astype(np.float32) for a in (solution[2], solution[3]))
    none = np.zeros((0, voltage.shape[1]), dtype=np.float32)
    return Solution(voltage, current, low_voltage, low_current, slope, none, modes, solution.settled[which])


def _joined(several: Sequence[Solution]) -> Solution:
    """Return the variants of several solutions side by side."""
    if len(several) == 1:
        return several[0]
    voltage, current, low_voltage, low_current, slope, resistance = (
        np.concatenate([s[k] for s in several], axis=-1) for k in range(6)
    )
    modes = Modes(*(np.concatenate(rows, axis=-1) for rows in zip(*(s.modes for s in several), strict=True)))
    settled = np.concatenate([s.settled for s in several])
    return Solution(voltage, current, low_voltage, low_current, slope, resistance, modes, settled)


def sizes_of(hypothesis: Hypothesis, installation: Installation, streams: Streams) -> Array:
    """Return sizes of a fault by vehicle: as stated, or over the range of its rule, or the other profiles of a
    charger.

    On one vehicle a fault has the same size wherever it sits, so that joints in one run often make the same circuit.
    """
    fault, rule = hypothesis.fault, hypothesis.rule
    if fault is None or rule is None:
        return np.zeros(streams.count)
    if fault.size is not None:
        return np.full(streams.count, fault.size)
    share = streams.share(f"size {fault.fault}")
    part = installation.parts[fault.part]
    if rule.change == "profile" and isinstance(part, Charger):
        others = [p.voltage.mid for p in part.profiles if p.name != part.profile]
        picked: Array = np.asarray(others)[np.minimum((share * len(others)).astype(int), len(others) - 1)]
        return picked
    if rule.size is None:
        return np.zeros(streams.count)
    low, high = _range(rule.size, part)
    if rule.size.spread == "log_even":
        return np.asarray(low * (high / low) ** share)
    return np.asarray(low + (high - low) * share)


def spare_of(fault: FaultAt, streams: Streams) -> Array:
    """Return even numbers from 0 to 1 by vehicle for what a fault leaves to chance."""
    return streams.share(f"spare {fault.fault}")


def _range(size: SizeRange, part: Part) -> tuple[float, float]:
    """Return the range of a size; some are given as shares of what is fitted."""
    for unit, key in (("share of area", "area"), ("share of capacity", "capacity"), ("share of rating", "rating")):
        if size.unit == unit:
            whole = getattr(part, key).mid
            return size.low * whole, size.high * whole
    return size.low, size.high

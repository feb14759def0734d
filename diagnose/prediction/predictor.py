"""What every test would read under every hypothesis, on the same possible vehicles.

The predictor reads the instruments off solved conditions. It keeps what it has predicted, so that asking again is
free. It knows nothing of evidence.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.circuit.faults import LEFT_TO_CHANCE
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.prediction.fitting import Fitted
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.instruments import as_shown, noise
from diagnose.prediction.keeping import takes_from, takes_to
from diagnose.prediction.readers import Scene, read_true
from diagnose.prediction.solving import Given, Solver, sizes_of, spare_of
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import Vehicles

__all__ = ["Predicted", "Predicting", "Predictor", "by_condition"]


class Predicted(NamedTuple):
    """What a test would read: arrays of shape (hypotheses, vehicles).

    `high` while a hunting charger is unloaded, `low` at its stop threshold, the same where nothing hunts (`hunts` 0);
    `mode` is a number that differs where chargers, relays or loads do something else; `noise` one standard deviation;
    a quantity read as a word has `words`, chances by word (and `high` is then the number of a test lamp's volts).
    """

    high: Array
    low: Array
    hunts: Array
    mode: Array
    noise: Array
    words: dict[str, Array] | None = None


class Predicting(Protocol):
    """Whatever can say what tests would read, on how many vehicles, under which hypotheses."""

    @property
    def hypotheses(self) -> tuple[Hypothesis, ...]: ...

    @property
    def count(self) -> int: ...

    def predict(self, takes: Sequence[Take], which: Sequence[int] | None = None) -> list[Predicted]: ...


class Predictor:
    """Predictions for one installation; the same streams give the same vehicles under every hypothesis."""

    def __init__(
        self, installation: Installation, tables: Tables, hypotheses: Sequence[Hypothesis], streams: Streams,
        given: Sequence[Given] = (),
    ) -> None:  # fmt: skip
        """Prepare; nothing is solved before a prediction is asked for. `given`: faults that all vehicles have."""
        self.installation, self.tables, self.streams = installation, tables, streams
        self.hypotheses = tuple(hypotheses)
        self.count = streams.count
        self._solver = Solver(installation, tables, hypotheses, streams, given)
        self._known: dict[Take, _Kept] = {}

    def predict(self, takes: Sequence[Take], which: Sequence[int] | None = None) -> list[Predicted]:
        """Return what each test would read under the hypotheses of the given numbers (all, if not said)."""
        numbers = list(range(len(self.hypotheses)) if which is None else which)
        for fitted, wanted in by_condition(list(dict.fromkeys(takes))).items():
            fresh = [take for take in wanted if take not in self._known]
            for take in fresh:
                self._known[take] = _Kept.blank(len(self.hypotheses), self.count)
            missing = sorted({n for take in wanted for n in numbers if not self._known[take].filled[n]})
            if missing:
                for take, predicted in zip(wanted, self.read(fitted, wanted, missing, meter=True), strict=True):
                    self._known[take].put(predicted, missing)
        return [self._known[take].rows(numbers, take, self.tables) for take in takes]

    def kept(self) -> Iterator[tuple[str, Array]]:
        """Yield all predictions that were worked out so far."""
        yield "takes", takes_to(list(self._known))
        for k, known in enumerate(self._known.values()):
            rows = np.flatnonzero(known.filled)
            yield f"rows{k}", rows
            yield from ((f"part{j} {k}", part[rows]) for j, part in enumerate(known.predicted[:4]))
            yield from ((f"word{k} {word}", chance[rows]) for word, chance in known.words.items())

    def put_back(self, arrays: Mapping[str, Array]) -> None:
        """Take in what was kept of another with the same hypotheses and vehicles."""
        for k, take in enumerate(takes_from(arrays["takes"])):
            rows = arrays[f"rows{k}"].tolist()
            parts = (arrays[f"part{j} {k}"] for j in range(4))
            words = {n.partition(" ")[2]: c for n, c in arrays.items() if n.partition(" ")[0] == f"word{k}"}
            known = self._known.setdefault(take, _Kept.blank(len(self.hypotheses), self.count))
            high, low, hunts, mode = parts
            known.put(Predicted(high, low, hunts, mode, np.zeros_like(high), words), rows)

    @property
    def size(self) -> int:
        """How many rows were worked out, over all tests."""
        return sum(int(known.filled.sum()) for known in self._known.values())

    def read(self, fitted: Fitted, takes: Sequence[Take], numbers: Sequence[int], meter: bool) -> list[Predicted]:
        """Read tests off one condition under some hypotheses, without keeping them; the noise is left at zero.

        Without `meter` the voltmeter's own current is left out: good enough to choose a test, and faster for many.
        """
        shape = (len(numbers), self.count)
        results = [_blank(shape) for _ in takes]
        words: list[dict[str, Array]] = [{} for _ in takes]
        for rows, scene in self._solver.scenes(fitted, numbers):
            for take, result, chances in zip(takes, results, words, strict=True):
                _fill(take, scene, result, chances, rows, shape, meter)
        return [r._replace(words=w or None) for r, w in zip(results, words, strict=True)]

    def solve_together(self, conditions: Sequence[Fitted], numbers: Sequence[int]) -> None:
        """Solve several states at once if that is faster; they are kept until `forget`."""
        self._solver.solve_together(conditions, numbers)

    def forget(self, fitted: Fitted) -> None:
        """Drop the solutions that are kept of one condition."""
        self._solver.forget(fitted)

    def sound_vehicles(self) -> Vehicles:
        """Return the vehicles that predictions are made on, without any fault."""
        return self._solver.sound_vehicles()

    def sizes(self, number: int) -> Array:
        """Return the size of a hypothesis's fault on each vehicle, in the unit of its rule."""
        return sizes_of(self.hypotheses[number], self.installation, self.streams)

    def left_to_chance(self, number: int) -> Array:
        """Return what a fault without a size leaves to chance on each vehicle, as whether it is open now; else zeros.
        """
        rule, fault = self.hypotheses[number].rule, self.hypotheses[number].fault
        if rule is None or fault is None or rule.change not in LEFT_TO_CHANCE:
            return np.zeros(self.count)
        return spare_of(fault, self.streams)


class _Kept(NamedTuple):
    """What is known of one test, and under which hypotheses."""

    predicted: Predicted
    words: dict[str, Array]
    filled: NDArray[np.bool_]

    @classmethod
    def blank(cls, hypotheses: int, vehicles: int) -> _Kept:
        return cls(_blank((hypotheses, vehicles)), {}, np.zeros(hypotheses, dtype=bool))

    def put(self, predicted: Predicted, numbers: Sequence[int]) -> None:
        """Store predictions under some hypotheses."""
        for kept, fresh in zip(self.predicted[:5], predicted[:5], strict=True):
            kept[numbers] = fresh
        for word, chance in (predicted.words or {}).items():
            self.words.setdefault(word, np.zeros(self.predicted.high.shape))[numbers] = chance
        self.filled[numbers] = True

    def rows(self, numbers: Sequence[int], take: Take, tables: Tables) -> Predicted:
        """Return predictions under some hypotheses, with the noise of the instrument."""
        high, low, hunts, mode = (array[numbers] for array in self.predicted[:4])
        words = {word: chance[numbers] for word, chance in self.words.items()}
        return Predicted(high, low, hunts, mode, noise(take.quantity, high, tables), words or None)


def _blank(shape: tuple[int, int]) -> Predicted:
    high, low, hunts, mode, spread = (np.zeros(shape) for _ in range(5))
    return Predicted(high, low, hunts, mode, spread)


def by_condition(takes: Sequence[Take]) -> dict[Fitted, list[Take]]:
    """Sort tests by what must be solved for them."""
    groups: dict[Fitted, list[Take]] = {}
    for take in takes:
        lamp = (take.where[0], take.where[1]) if take.meter == "test_lamp" else None
        groups.setdefault(Fitted(take.when, take.jumper, take.swap, lamp), []).append(take)
    return groups


def _fill(
    take: Take, scene: Scene, result: Predicted, chances: dict[str, Array], rows: list[int], shape: tuple[int, int],
    meter: bool
) -> None:  # fmt: skip
    """Read one test off a scene into the rows of its hypotheses."""
    true = read_true(take, scene, meter)
    block = (len(rows), shape[1])
    for target, values in ((result.high, true.high), (result.low, true.low)):
        target[rows] = as_shown(take.quantity, values.reshape(block), scene.tables, scene.vehicles.streams)
    result.hunts[rows] = true.hunts.reshape(block)
    result.mode[rows] = scene.mode.reshape(block)
    for word, chance in (true.words or {}).items():
        chances.setdefault(word, np.zeros(shape))[rows] = chance.reshape(block)

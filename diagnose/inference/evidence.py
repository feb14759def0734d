"""Readings set against predictions: numbers beside numbers, words as chances, nothing weighed yet.

A number from a hunting circuit may be caught anywhere between its two ends; `unsteady` is a word whose chance grows
with the jump between them. What was not taken says nothing.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Reading, Take
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.instruments import OVER_RANGE, called_unsteady
from diagnose.prediction.predictor import Predicted, Predicting
from diagnose.prediction.sights import SOUND_WORD, Sights

__all__ = ["HUNTING_SAYS", "SCALE", "Evidence", "Source", "gather", "number_of"]

#: quantity -> width of the range a mistaken number comes from, in the unit in which it is compared
SCALE = {"volts": 16.0, "amps": 60.0, "ohms": 8.0, "celsius": 100.0, "ripple": 2.0, "load_test": 12.0, "gravity": 0.3}
#: chance that people call a reading unsteady without or with a large jump
STEADY_SAYS, HUNTING_SAYS = 0.01, 0.97
#: what a wire that hangs free may show [V]
FREE_WIRE = 0.001
#: steps of this size spread numbers evenly over 0 to 1, however many are taken
GOLDEN = 0.6180339887498949


class Evidence(NamedTuple):
    """Readings against predictions, for `numbers` n, `hypotheses` h and `vehicles` m.

    `which` (n,) are the numbers of the readings (from 0) that are numbers; `read` (n,); `predicted` (h, m, n);
    `noise` (h, m, n); `width` (n,), the range a mistaken one comes from; `words` (h, m, w) chances of the words read,
    for readings `word_which`; `mode`
    (h, m) numbers that tell modes apart.
    """

    which: tuple[int, ...]
    read: Array
    predicted: Array
    noise: Array
    width: Array
    word_which: tuple[int, ...]
    words: Array
    mode: Array


def number_of(reading: Reading) -> float | None:
    """Return a reading as the number it is compared by, or None where it is a word.

    Ohms are compared by their decimal logarithm, with `OL` at the top; a reading below a bound by half of it.
    """
    take, read = reading.take, reading.read
    if take is None or read is None or read.kind in ("word", "skipped", "unsteady"):
        if read is not None and read.kind == "unsteady" and read.value is not None and read.high is not None:
            return 0.5 * (read.value + read.high)
        return None
    if read.kind == "over_range":
        return OVER_RANGE if take.quantity == "ohms" else None
    value = read.value or 0.0
    if read.kind == "below":
        value *= 0.5
    return float(np.log10(max(value, 0.05))) if take.quantity == "ohms" else float(value)


class Source(NamedTuple):
    """What predicts the readings up to the next repair, and the faults that are then there beside the hypothesis."""

    predictor: Predicting
    present: tuple[Hypothesis, ...] = ()


def gather(readings: Sequence[Reading], sources: Sequence[Source], sights: Sights) -> Evidence:
    """Set readings against the predictions of all hypotheses.

    Parameters: `readings`, in order, repairs among them; `sources`, one for the time before the first repair, one for
    the time after each; all with the same hypotheses and vehicles.
    Returns: the evidence.
    """
    first = sources[0].predictor
    shape = (len(first.hypotheses), first.count)
    values: list[tuple[int, float, Array, Array, float]] = []
    words: list[tuple[int, Array]] = []
    modes: dict[str, Array] = {}
    for index, epoch, reading, predicted in _predicted(readings, sources):
        assert reading.take is not None
        assert reading.read is not None
        if predicted is None:
            words.append((index, _sights(reading, first.hypotheses, sources[epoch].present, sights, shape)))
            continue
        modes[repr((reading.take.when, reading.take.jumper, reading.take.swap, epoch))] = predicted.mode
        if (value := number_of(reading)) is not None and (predicted.words is None or reading.take.meter == "test_lamp"):
            between = _caught(predicted, first.count, reading.take)
            values.append((index, value, between, _spread(predicted, reading), SCALE[reading.take.quantity]))
            if reading.take.quantity in ("volts", "amps"):
                says = _unsteady(predicted)
                words.append((index, says if reading.read.kind == "unsteady" else 1.0 - says))
        else:
            words.append((index, _words(predicted, reading, shape)))
    return Evidence(
        tuple(v[0] for v in values),
        np.array([v[1] for v in values]),
        np.stack([v[2] for v in values], axis=-1) if values else np.zeros((*shape, 0)),
        np.stack([v[3] for v in values], axis=-1) if values else np.zeros((*shape, 0)),
        np.array([v[4] for v in values]),
        tuple(w[0] for w in words),
        np.stack([w[1] for w in words], axis=-1) if words else np.ones((*shape, 0)),
        _combined(modes, shape),
    )


def _predicted(
    readings: Sequence[Reading], sources: Sequence[Source]
) -> Iterator[tuple[int, int, Reading, Predicted | None]]:
    """Yield what was read, each with its number, how many repairs went before, and what was predicted; None for what
    only eyes, nose or hands find.
    """
    used = [(i, e, r) for i, e, r in _once(readings) if r.take is not None and r.read is not None]
    used = [one for one in used if one[2].read is not None and one[2].read.kind != "skipped"]
    found: dict[tuple[int, Take], Predicted] = {}
    for epoch, source in enumerate(sources):
        takes = [r.take for _, e, r in used if e == epoch and r.take is not None and r.take.quantity not in SOUND_WORD]
        found |= {(epoch, t): p for t, p in zip(takes, source.predictor.predict(takes), strict=True)}
    for index, epoch, reading in used:
        yield index, epoch, reading, found.get((epoch, reading.take)) if reading.take is not None else None


def _once(readings: Sequence[Reading]) -> list[tuple[int, int, Reading]]:
    """Return the readings with their numbers and how many repairs went before, a test taken again made one with the
    first: numbers by their mean.

    The same meter on the same place repeats its errors, so a repeat tells next to nothing that is new. What is odd to
    see or feel stays so until that part is mended.
    """
    found: dict[object, tuple[int, int, list[Reading]]] = {}
    epoch, renewed = 0, dict[str, int]()
    for index, reading in enumerate(readings):
        if reading.repaired is not None:
            epoch += 1
            renewed[reading.repaired.part] = epoch
        read, take = reading.read, reading.take
        said = None if read is None or read.kind == "number" else (read.kind, read.word, read.value, read.high)
        key: object = index
        if take is not None:
            felt = take.quantity in SOUND_WORD
            key = (renewed.get(take.where[0].partition("@")[0], 0) if felt else epoch, take, said)
        found.setdefault(key, (index, epoch, []))[2].append(reading)
    return [(index, epoch, _mean(same)) for index, epoch, same in found.values()]


def _mean(same: list[Reading]) -> Reading:
    first = same[0]
    if len(same) == 1 or first.read is None or first.read.value is None:
        return first
    return first._replace(read=first.read._replace(value=float(np.mean([r.read.value for r in same if r.read]))))


def _combined(modes: dict[str, Array], shape: tuple[int, int]) -> Array:
    """Return one number by vehicle that differs where any condition is in another mode, whatever the order."""
    label: Array = np.zeros(shape)
    for name in sorted(modes):
        _, mode = np.unique(modes[name], return_inverse=True)
        label = np.unique(label * (mode.max() + 1.0) + mode.reshape(shape), return_inverse=True)[1].reshape(shape) * 1.0
    return label


def _caught(predicted: Predicted, count: int, take: Take) -> Array:
    """Return the value at which each vehicle's reading is caught: anywhere between the two ends while it hunts."""
    phase = zlib.crc32(repr(take).encode()) / 2**32
    share = np.modf(phase + np.arange(count) * GOLDEN)[0]
    caught: Array = predicted.high + predicted.hunts * share * (predicted.low - predicted.high)
    return caught


def _typed_digit(reading: Reading) -> float:
    """Return one standard deviation of rounding to the last digit typed, in the unit in which numbers are compared."""
    take, read = reading.take, reading.read
    if take is None or read is None or take.quantity not in ("volts", "amps") or read.kind != "number":
        return 0.0
    found = re.match(r"\s*[-+]?\d+(?:[.,](\d+))?\s*(m?)", read.text)
    digit = 10.0 ** -len(found.group(1) or "") * (1e-3 if found.group(2) else 1.0) if found else 0.0
    return max(0.3 * digit, FREE_WIRE if take.quantity == "volts" else 0.0)


def _spread(predicted: Predicted, reading: Reading) -> Array:
    """Return the noise of a reading, widened to the digits that were typed, and where only a bound or ends were read.

    A wire that hangs free shows some millivolts of anything, so volts are never taken to less than one.
    """
    extra = _typed_digit(reading)
    read = reading.read
    if read is not None and read.kind == "below":
        extra = max(extra, 0.3 * (read.value or 0.0))
    if read is not None and read.kind == "unsteady" and read.high is not None:
        extra = max(extra, 0.3 * abs(read.high - (read.value or 0.0)))
    return np.sqrt(predicted.noise**2 + extra**2)


def _unsteady(predicted: Predicted) -> Array:
    """Return the chance that a person calls the reading unsteady."""
    jump = predicted.hunts * np.abs(predicted.high - predicted.low)
    chance: Array = STEADY_SAYS + (HUNTING_SAYS - STEADY_SAYS) * called_unsteady(jump)
    return chance


def _words(predicted: Predicted, reading: Reading, shape: tuple[int, int]) -> Array:
    """Return the chances of the word read."""
    read = reading.read
    assert read is not None
    if read.kind == "unsteady":
        return _unsteady(predicted)
    if predicted.words is None or read.word not in predicted.words:
        return np.full(shape, 0.02)
    return predicted.words[read.word]


def _sights(
    reading: Reading, hypotheses: Sequence[Hypothesis], present: Sequence[Hypothesis], sights: Sights,
    shape: tuple[int, int],
) -> Array:  # fmt: skip
    """Return the chances of what eyes, nose or hands found; a fault that is there anyhow shows itself as well."""
    take, read = reading.take, reading.read
    assert take is not None
    assert read is not None
    part = take.where[0].partition("@")[0]
    there = next((p for p in present if p.fault is not None and p.fault.part == part), None)
    rows = []
    for hypothesis in hypotheses:
        own = hypothesis.fault is not None and hypothesis.fault.part == part
        shows = hypothesis if own or there is None else there
        rows.append(sights.chance(take.quantity, take.where[0], read.word or "", shows))
    return np.repeat(np.array(rows)[:, None], shape[1], axis=1)

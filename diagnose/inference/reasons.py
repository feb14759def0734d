"""Why: the weight of each reading for and against a suspect, in decibels, and in a sentence an installer would say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.bank import MISTAKEN
from diagnose.inference.posterior import Belief, without_words
from diagnose.model.installation import Installation, name_of
from diagnose.model.reading import Reading, Take

__all__ = ["Weights", "against_sound", "amount", "place_words", "reading_says", "sound_band", "weights_of"]

UNITS = {"volts": "V", "amps": "A", "ohms": "ohm", "celsius": "degC", "ripple": "V", "load_test": "V", "gravity": ""}


class Weights(NamedTuple):
    """Decibels of each reading by hypothesis, shape (h, readings), readings counted from 0; zero for one not used."""

    db: Array


def weights_of(belief: Belief, readings: int) -> Weights:
    """Return each reading's weight given all the others: 10 log10 of its likelihood ratio against the rest of the
    hypotheses.
    """
    evidence, fit = belief.evidence, belief.fit
    hypotheses = len(belief.posterior)
    log_chance = np.zeros((hypotheses, readings))
    for column, index in enumerate(evidence.which):
        log_chance[:, index] += fit.log_likelihood - fit.without[:, column]
    without = without_words(belief)
    for column, index in enumerate(evidence.word_which):
        if index not in evidence.which:
            log_chance[:, index] += fit.log_likelihood - without[:, column]
    db = np.zeros((hypotheses, readings))
    for index in {*evidence.which, *evidence.word_which}:
        db[:, index] = _against_rest(log_chance[:, index], belief.posterior)
    return Weights(db)


def _against_rest(log_chance: Array, posterior: Array) -> Array:
    """Return 10 log10 of each hypothesis's chance over that of all the others, weighted as if the reading were
    missing.
    """
    with np.errstate(divide="ignore"):
        before = np.log(posterior) - log_chance
    total = float(np.logaddexp.reduce(before))
    rest_before = np.maximum(1.0 - np.exp(before - total), 1e-15)
    rest_after = np.maximum(1.0 - posterior / posterior.sum(), 1e-15)
    ratio = log_chance + total - np.log(posterior.sum()) + np.log(rest_before / rest_after)
    db: Array = np.clip(10.0 * ratio / np.log(10.0), -120.0, 120.0)
    return db


def against_sound(belief: Belief, hypothesis: int) -> Array:
    """Return 10 log10 of how much likelier each reading is, by itself, under a hypothesis than on a sound vehicle.

    Returns: decibels, shape (numbers and then words of the evidence,).
    """
    evidence = belief.evidence
    chances = []
    for number in (hypothesis, 0):
        predicted = evidence.predicted[number]
        wide = np.hypot(evidence.noise[number], 0.3 * predicted.std(axis=0))
        normal = np.exp(-0.5 * ((evidence.read - predicted) / wide) ** 2) / (wide * np.sqrt(2.0 * np.pi))
        numbers = normal.mean(axis=0) + MISTAKEN / evidence.width
        chances.append(np.concatenate([numbers, evidence.words[number].mean(axis=0)]))
    return np.asarray(10.0 * np.log10(chances[0] / chances[1]))


def sound_band(belief: Belief, column: int) -> tuple[float, float]:
    """Return where 90 % of sound vehicles read, for a number of the evidence."""
    values, noise = belief.evidence.predicted[0, :, column], belief.evidence.noise[0, :, column]
    low, high = np.quantile(values, [0.05, 0.95])
    wide = 1.64 * float(noise.mean())
    return float(low) - wide, float(high) + wide


def amount(quantity: str, value: float) -> str:
    """Return a number with its unit as people say it.

    >>> amount("volts", 0.0421)
    '0.042 V'
    """
    if quantity == "ohms":
        if value >= 7.5:
            return "OL"
        ohms = 10.0**value
        return f"{ohms:.1f} ohm" if ohms < 100 else f"{ohms:.3g} ohm"
    digits = 3 if abs(value) < 1 and quantity == "volts" else 2 if quantity in ("volts", "ripple") else 1
    text = f"{value:.{digits}f} {UNITS[quantity]}".strip()
    return "0 V" if text in ("-0.000 V", "0.000 V") else text


def place_words(place: str, installation: Installation) -> str:
    """Return a place by the name people give it."""
    part, _, end = place.partition("@")
    if end:
        return f"{name_of(part, installation)}, end at {name_of(end, installation)}"
    return name_of(place, installation)


def reading_says(number: int, readings: Sequence[Reading], belief: Belief, installation: Installation) -> str:
    """Return a sentence on one reading (numbered from 0): what it was, where, and what a sound vehicle would show."""
    reading = readings[number]
    take, read = reading.take, reading.read
    assert take is not None
    assert read is not None
    places = [place_words(p, installation) for p in take.where]
    where = _where(take, places)
    if number not in belief.evidence.which:
        return f"{where}: {read.text}"
    column = belief.evidence.which.index(number)
    low, high = sound_band(belief, column)
    number_read = float(belief.evidence.read[column])
    shown = amount(take.quantity, number_read) if read.kind == "number" else read.text
    band = f"sound is {amount(take.quantity, low)} to {amount(take.quantity, high)}"
    if take.quantity == "volts" and max(abs(low), abs(high)) < 0.8:
        return f"{shown} is lost between {places[0]} and {places[1]}; {band} here"
    return f"{where}: {shown}; {band} here"


def _where(take: Take, places: Sequence[str]) -> str:
    words = {
        "volts": "volts from {} to {}",
        "ohms": "ohms from {} to {}",
        "ripple": "AC volts from {} to {}",
        "amps": "current in {}",
    }
    text = words.get(take.quantity, take.quantity + " {}").format(*places)
    return text + (" with a jumper" if take.jumper else "") + (f" with a known-good {take.swap}" if take.swap else "")

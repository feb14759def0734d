"""Expected readings: the middle and the 95 % band of a test over the vehicles that a description allows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.expected import Expected
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES, Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.instruments import OVER_RANGE, called_unsteady, resolution
from diagnose.prediction.limits import limit_of
from diagnose.prediction.predictor import Predicted, Predictor
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.streams import Streams

__all__ = ["expected_readings", "most_telling", "shown_once"]

VEHICLES = 1500
BAND = (0.025, 0.975)
#: chances below which a word is not worth naming
NAMED = 0.005


def expected_readings(
    installation: Installation,
    rules: RuleBase | None,
    tables: Tables,
    takes: Sequence[Take],
    hypothesis: Hypothesis,
    seed: int,
) -> tuple[Expected, ...]:
    """Return what each test is expected to read.

    Parameters: `rules`, needed only where eyes, nose or hands are the instrument; `hypothesis`, `SOUND` or a fault at
    a place; without a size its rule's whole range is covered; `seed` of the vehicles drawn.
    Returns: one record a test, in order; the band holds 95 % of readings, meter errors and last digits among them.
    """
    streams = Streams(seed, VEHICLES)
    predictor = Predictor(installation, tables, (hypothesis,), streams)
    solved = [t for t in takes if t.quantity not in SOUND_WORD]
    found = dict(zip(solved, predictor.predict(solved), strict=True))
    return tuple(
        _numbers(take, found[take], installation, tables, streams)
        if take.quantity not in SOUND_WORD
        else _sight(take, hypothesis, rules)
        for take in takes
    )


def _sight(take: Take, hypothesis: Hypothesis, rules: RuleBase | None) -> Expected:
    """Return the chances of what eyes, nose or hands find."""
    if rules is None:
        raise ValueError(f"what a {take.quantity} finds is told by the rules, and none were given")
    sights = Sights(rules)
    chances = [(w, sights.chance(take.quantity, take.where[0], w, hypothesis)) for w in sights.words(take.quantity)]
    total = sum(c for _, c in chances)
    return Expected(take, None, None, None, "", None, tuple((w, c / total) for w, c in chances if c / total >= NAMED))


def shown_once(take: Take, predicted: Predicted, tables: Tables, streams: Streams) -> tuple[Array, Array]:
    """Return one reading of every vehicle as the display shows it, and the jump of a hunting one.

    Parameters: `predicted`, of one hypothesis, arrays (1, m).
    Returns: values (m,), in the unit in which the quantity is compared, and jumps (m,), zero where nothing hunts.
    """
    share = streams.share(f"moment {take.where} {take.when}")
    caught = predicted.high[0] + predicted.hunts[0] * share * (predicted.low[0] - predicted.high[0])
    even = 2.0 * streams.share(f"digits {take.where} {take.when}") - 1.0
    values = caught + even * np.sqrt(3.0) * predicted.noise[0]
    if take.quantity == "volts":
        step = resolution(caught, tables.number("meters", "counts"))
        wander = tables.number("meters", "digits") * step * even
        values = np.round((caught + wander) / step) * step
    return values, predicted.hunts[0] * np.abs(predicted.high[0] - predicted.low[0])


def _numbers(
    take: Take, predicted: Predicted, installation: Installation, tables: Tables, streams: Streams
) -> Expected:
    """Return band and chances of one solved test."""
    unit = QUANTITIES[take.quantity][1] or ""
    if take.meter == "test_lamp":
        unit = "V"
    elif predicted.words is not None:
        words = tuple((w, float(c.mean())) for w, c in predicted.words.items())
        return Expected(take, None, None, None, "", None, tuple(w for w in words if w[1] >= NAMED))
    values, jump = shown_once(take, predicted, tables, streams)
    chances: list[tuple[str, float]] = []
    if take.quantity == "ohms":
        over = values > OVER_RANGE - 0.5
        if over.any():
            chances = [("OL", float(over.mean()))]
        values = 10.0 ** values[~over]
    elif (jumping := float(called_unsteady(jump).mean())) >= NAMED:
        chances = [("unsteady", jumping)]
    if take.meter == "test_lamp" and predicted.words is not None:
        chances += [(w, float(c.mean())) for w, c in predicted.words.items() if c.mean() >= NAMED]
    limit = limit_of(take, installation, tables)
    if not values.size:
        return Expected(take, None, None, None, unit, limit, tuple(chances))
    low, middle, high = np.quantile(values, [BAND[0], 0.5, BAND[1]])
    return Expected(take, float(middle), float(low), float(high), unit, limit, tuple(chances))


def most_telling(
    installation: Installation, rules: RuleBase, tables: Tables, take: Take, hypotheses: Sequence[Hypothesis],
    seed: int, vehicles: int, most: int,
) -> list[tuple[str, Expected]]:  # fmt: skip
    """Return what the likeliest faults that move a reading out of its sound band would read instead.

    Parameters: `hypotheses`, the first being that nothing is wrong; `vehicles`, how many are drawn for each; `most`,
    how many suspects are returned.
    Returns: suspects by name with their expected readings, the likeliest first.
    """
    if take.quantity in SOUND_WORD:
        return []
    predictor = Predictor(installation, tables, hypotheses, Streams(seed, vehicles))
    predicted = predictor.predict([take])[0]
    values = predicted.high - 0.5 * predicted.hunts * (predicted.high - predicted.low)
    low, high = values[0].min(), values[0].max()
    margin = 2.0 * predicted.noise[0].mean()
    outside = ((values < low - margin) | (values > high + margin)).mean(axis=1)
    moved = sorted(range(1, len(hypotheses)), key=lambda n: -hypotheses[n].weight * outside[n])[:most]
    streams = Streams(seed, vehicles)
    rows = []
    for n in moved:
        if outside[n] > 0.2:
            high, shut, hunts, mode, noise = (a[n : n + 1] for a in predicted[:5])
            one = Predicted(high, shut, hunts, mode, noise, _words_of(predicted, n))
            rows.append((hypotheses[n].label, _numbers(take, one, installation, tables, streams)._replace(limit=None)))
    return rows


def _words_of(predicted: Predicted, number: int) -> dict[str, Array] | None:
    return None if predicted.words is None else {w: c[number : number + 1] for w, c in predicted.words.items()}

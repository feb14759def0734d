"""What a reading means: beside the band of sound vehicles and what the leading suspects were expected to read.

Words and pictures of it are made by `present`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from diagnose.inference.ranking import Engine
from diagnose.model.ranking import Ranking
from diagnose.model.reading import QUANTITIES, Read, Reading, Take
from diagnose.prediction.expected import shown_once
from diagnose.prediction.instruments import OVER_RANGE
from diagnose.prediction.predictor import Predicted
from diagnose.prediction.sights import SOUND_WORD
from diagnose.session.believing import compared
from diagnose.session.steps import Meaning

__all__ = ["meaning_of"]

#: volts that a sound vehicle may lose along a drop, at most: what is above is no drop
DROP = 0.8
#: chance of a word on sound vehicles below which it is unlike them
UNLIKE = 0.1
_NUMBER = r"(-?[0-9.]+)"


def meaning_of(
    reading: Reading, number: int, engine: Engine, ranking: Ranking | None, expect: Sequence[tuple[str, str]]
) -> Meaning:
    """Return what a reading means.

    Parameters: `reading`, with its `number` in the ranking (from 1); `ranking`, with this reading in it
    (None for one that proves a repair, which always tells); `expect`, what
    the leading suspects were expected to read, as the ranking before it said.
    """
    take, read = reading.take, reading.read
    assert take is not None
    assert read is not None
    unit = QUANTITIES[take.quantity][1] or ""
    suspects = tuple((label, *_band_of(text), text) for label, text in expect)
    words = _sound_words(take, engine)
    if words:
        verdict = "as_sound" if dict(words).get(read.word or "", 0.0) >= UNLIKE else "unlike"
        return Meaning(take, read, unit, None, None, verdict, suspects, words)
    low, high = _sound_band(take, engine)
    little = ranking is not None and _little(take, read, low, high, number, ranking)
    return Meaning(take, read, unit, low, high, _verdict(take, read, low, high), suspects, (), little)


def _verdict(take: Take, read: Read, low: float | None, high: float | None) -> str:
    if read.kind == "over_range" and take.quantity == "ohms":
        return "as_sound" if high is None else "above"
    if read.kind == "unsteady":
        return "unlike"
    if read.value is None or low is None or high is None:
        return "said"
    if read.kind == "below":
        return "as_sound" if read.value >= low else "below"
    wide = 0.1 * (high - low) + (0.005 if take.quantity == "volts" else 0.05)
    return "below" if read.value < low - wide else "above" if read.value > high + wide else "as_sound"


def _little(take: Take, read: Read, low: float | None, high: float | None, number: int, ranking: Ranking) -> bool:
    """Return whether a drop was read with so little current that it weighs nothing for any leading suspect."""
    value = compared(take, read)
    if take.quantity != "volts" or value is None or low is None or high is None or max(abs(low), abs(high)) > DROP:
        return False
    weighed = {r.reading for e in ranking.faults[:5] for r in (*e.reasons_for, *e.reasons_against)}
    return abs(value) < 0.05 and number not in weighed


def _sound_words(take: Take, engine: Engine) -> tuple[tuple[str, float], ...]:
    """Return the chances of words on sound vehicles; nothing where a number is read."""
    if take.quantity in SOUND_WORD:
        sights, sound = engine.sights, engine.hypotheses[0]
        return tuple((w, sights.chance(take.quantity, take.where[0], w, sound)) for w in sights.words(take.quantity))
    one = engine.predictor.predict([take])[0]
    if one.words is None or take.meter == "test_lamp":
        return ()
    return tuple((word, float(chances[0].mean())) for word, chances in one.words.items())


def _sound_band(take: Take, engine: Engine) -> tuple[float | None, float | None]:
    """Return where 95 % of sound vehicles read, in the unit of the quantity; no band where ohms are over range."""
    one = engine.predictor.predict([take])[0]
    sound = Predicted(one.high[0:1], one.low[0:1], one.hunts[0:1], one.mode[0:1], one.noise[0:1])
    values = sorted(shown_once(take, sound, engine.tables, engine.predictor.streams)[0].tolist())
    low, high = values[len(values) // 40], values[-1 - len(values) // 40]
    if take.quantity == "ohms":
        return (None if low > OVER_RANGE - 0.5 else 10.0**low), (None if high > OVER_RANGE - 0.5 else 10.0**high)
    return low, high


def _band_of(text: str) -> tuple[float | None, float | None]:
    """Return the two ends of a band as the ranking writes it.

    >>> _band_of("0.550 V to 0.75 V"), _band_of("unsteady 11.8 V to 13.1 V"), _band_of("not good")
    ((0.55, 0.75), (11.8, 13.1), (None, None))
    """
    found = re.search(rf"{_NUMBER}\D*? to {_NUMBER}", text)
    return (float(found[1]), float(found[2])) if found else (None, None)

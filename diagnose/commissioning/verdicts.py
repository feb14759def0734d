"""The verdict on one reading: against its published limit, and against the band of this installation's own model.

Numbers in, verdict out; what a step is, and where limits and bands come from, is not known here.
"""

from __future__ import annotations

from math import hypot, inf

from diagnose.model.commissioning import StepVerdict

__all__ = ["at_full_current", "by_band", "by_limit", "worst"]

#: which of two verdicts on one reading stands: what is proved wrong outranks what cannot be told; where there is but
#: one judgement, there is nothing to choose between
ORDER: tuple[StepVerdict, ...] = ("PASS", "LOOK", "INVALID", "FAIL", "NOT DONE")


def by_limit(value: float, error: float, low: float | None, high: float | None) -> StepVerdict:
    """Return the verdict against a published limit: FAIL beyond it by more than the meter's error.

    Parameters: `value`, `error` of the meter, `low` and `high`, all in one unit; None is no bound.
    Returns: INVALID where the meter's error is as wide as the limits, unless even so it is beyond them; LOOK beyond a
    limit by less than the error.

    >>> by_limit(0.36, 0.01, None, 0.25), by_limit(0.255, 0.01, None, 0.25), by_limit(0.20, 0.01, None, 0.25)
    ('FAIL', 'LOOK', 'PASS')
    """
    least, most = -inf if low is None else low, inf if high is None else high
    beyond = max(least - value, value - most)
    if beyond > error:
        return "FAIL"
    if 2 * error >= most - least:
        return "INVALID"
    return "LOOK" if beyond > 0 else "PASS"


def by_band(value: float, usual: tuple[float, float], family: tuple[float, float]) -> StepVerdict:
    """Return the verdict against the model: LOOK outside the 95 % band `usual`, FAIL outside the wider `family` band.

    >>> [by_band(v, (0.08, 0.16), (0.06, 0.20)) for v in (0.12, 0.18, 0.30)]
    ['PASS', 'LOOK', 'FAIL']
    """
    if not family[0] <= value <= family[1]:
        return "FAIL"
    return "PASS" if usual[0] <= value <= usual[1] else "LOOK"


def at_full_current(
    drop: float, drop_error: float, current: float, current_error: float, rated: float
) -> tuple[float, float]:
    """Return a drop [V] as it would be at the rated current, and its error [V]: resistance times current.

    Parameters: `drop`, `drop_error` [V]; `current`, `current_error`, `rated` [A].
    Raises: ValueError where no current flowed, since such a drop tells nothing.
    Source: Ohm's law; relative errors of a quotient add in quadrature.

    >>> value, error = at_full_current(0.06, 0.003, 25.0, 0.0, 50.0)
    >>> round(value, 6), round(error, 6)
    (0.12, 0.006)
    """
    if current == 0:
        raise ValueError("no current flowed: switch loads on, run the battery down or raise the engine speed")
    scale = rated / abs(current)
    return drop * scale, scale * hypot(drop_error, drop * current_error / current)


def worst(first: StepVerdict, second: StepVerdict) -> StepVerdict:
    """Return which of two verdicts on one reading stands.

    >>> worst("PASS", "FAIL"), worst("INVALID", "LOOK")
    ('FAIL', 'INVALID')
    """
    return max(first, second, key=ORDER.index)

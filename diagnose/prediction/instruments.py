"""What an instrument makes of a true value: gain, zero, leads, digits.

Errors that stay the same for a whole job (gain, clamp zero, lead resistance) are drawn once a vehicle, so that readings
taken with one meter share them; what is left, the last digits, is the noise of each reading.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.figures import Tables
from diagnose.prediction.streams import Streams

__all__ = ["OVER_RANGE", "as_shown", "called_unsteady", "noise", "resolution"]

#: the ohmmeter's scale is taken as a logarithm; this value stands for OL
OVER_RANGE = 8.0
SMALLEST_OHMS = 0.05
#: of an autoranging meter, in the unit shown
FULL_SCALES = 0.6 * 10.0 ** np.arange(8)
#: jump [V or A] between two values at which half the people call a reading unsteady
JUMP = 0.15


def resolution(value: Array, counts: float) -> Array:
    """Return the size of the last digit of an autoranging meter whose full scales are 0.6, 6, 60, 600 (for 6,000
    counts).

    Parameters: `value`, in the unit shown; `counts`, of the display.
    Returns: the last digit, same unit and shape.

    >>> resolution(np.array([0.05, 5.0, 12.0]), 6000.0).round(6).tolist()
    [0.0001, 0.001, 0.01]
    """
    return np.asarray(FULL_SCALES[np.searchsorted(FULL_SCALES[:-1], np.abs(value))] / counts)


def as_shown(quantity: str, true: Array, tables: Tables, streams: Streams) -> Array:
    """Return what is shown before the last digits wander.

    Parameters: `quantity` of the readings form; `true`, shape (..., vehicles).
    Returns: same shape; for ohms the decimal logarithm of the ohms shown, `OVER_RANGE` where the meter shows OL.
    """

    def t(name: str) -> float:
        return tables.number("meters", name)

    if quantity in ("volts", "load_test"):
        return true * (1.0 + t("volts_gain") * streams.normal("meter gain"))
    if quantity == "amps":
        zero = t("clamp_zero") * streams.normal("clamp zero")
        return true * (1.0 + t("clamp_gain") * streams.normal("clamp gain")) + zero
    if quantity == "celsius":
        return true + streams.even("thermometer", -t("thermometer"), t("thermometer"))
    if quantity == "ohms":
        leads = streams.even("ohm leads", t("ohms_lead_low"), t("ohms_lead_high"))
        shown = np.maximum(true + leads, SMALLEST_OHMS)
        return np.where(shown > t("ohms_over_range"), OVER_RANGE, np.log10(np.minimum(shown, 1e7)))
    return true


def noise(quantity: str, shown: Array, tables: Tables) -> Array:
    """Return one standard deviation of what is left to chance in a reading.

    Parameters: `shown`, as from `as_shown`.
    Returns: same unit and shape. Two digits either way, evenly, are 2/sqrt(3) digits of standard deviation.
    """
    digits = tables.number("meters", "digits") / np.sqrt(3.0)
    counts = tables.number("meters", "counts")
    if quantity == "ohms":
        ohms = 10.0**shown
        return np.asarray(np.hypot(0.01, 0.06 / ohms / np.log(10.0)))
    if quantity == "celsius":
        return np.full_like(shown, 1.0)
    if quantity == "amps":
        return np.asarray(np.hypot(0.05, 0.005 * shown))
    if quantity == "gravity":
        return np.full_like(shown, 0.007)
    if quantity == "ripple":
        return np.asarray(0.01 + 0.15 * np.abs(shown))
    if quantity == "load_test":
        return np.full_like(shown, 0.15)
    return np.asarray(digits * resolution(shown, counts) + 0.0002)


def called_unsteady(jump: Array) -> Array:
    """Return the share of people who call a reading unsteady that jumps by so much [V or A], any shape.

    >>> called_unsteady(np.array([0.0, 0.15, 1.5])).round(2).tolist()
    [0.0, 0.5, 0.99]
    """
    return np.asarray(jump**2 / (jump**2 + JUMP**2))

"""What an instrument's display is worth: last digit, limit of error, ghost voltage, as plain formulas.

Knows no table and no reading: only numbers.
"""

from __future__ import annotations

import math

__all__ = ["divided_voltage", "infrared_reading", "last_digit", "meter_error"]


def last_digit(volts: float, counts: int = 6000, fixed_range: float | None = None) -> float:
    """Return the last digit of a meter, on the smallest range that shows the value, or on a given range.

    Parameters: `volts` [V]; `counts` of the display: 6,000 has ranges of 0.6, 6, 60, 600 V, 2,000 of 0.2, 2, 20, 200 V;
    `fixed_range` [V], full scale of the range in use where it is not the best one.
    Returns: volts [V]. Raises: ValueError above 600 V or 200 V, and where the range is too small.
    Source: common practice of hand meters.

    >>> last_digit(12.60), last_digit(0.150), last_digit(0.150, fixed_range=60.0)
    (0.01, 0.0001, 0.01)
    """
    lead = counts / math.pow(10.0, len(str(counts)) - 1)
    for full in (lead / 10, lead, lead * 10, lead * 100):
        if abs(volts) <= full and (fixed_range is None or abs(full - fixed_range) < 1e-9):
            return round(full / counts, 9)
    raise ValueError(f"{volts} V does not go on the ranges of a meter of {counts} counts")


def meter_error(
    volts: float, gain: float = 0.005, digits: float = 2.0, counts: int = 6000, fixed_range: float | None = None
) -> float:
    """Return the limit of error of a voltmeter, gain V + digits last digits.

    Parameters: `volts` [V] shown; `gain`, share of the reading; `digits`; `counts` and `fixed_range` as for
    `last_digit`.
    Returns: volts [V] either way. Raises: as `last_digit`. Valid range: direct voltage, 23 degC.
    Source: ±(0.5 % + 2 digits), common practice of hand meters (from memory).

    >>> round(1000 * meter_error(12.60))
    83
    """
    return gain * abs(volts) + digits * last_digit(volts, counts, fixed_range)


def divided_voltage(source: float, series: float, across: float) -> float:
    """Return the volts across a meter or lamp behind a resistance, V = Vs Rm / (Rs + Rm).

    Parameters: `source` [V]; `series` [ohm], the fault in the way; `across` [ohm], 10 Mohm for a meter.
    Returns: volts [V]: a meter still shows a ghost where a lamp stays dark. Source: voltage divider.

    >>> round(divided_voltage(12.6, 1e6, 1e7), 2)
    11.45
    """
    return source * across / (series + across)


def infrared_reading(true: float, emissivity: float, room: float = 25.0, setting: float = 0.95) -> float:
    """Return what an infrared thermometer of 8 to 14 um shows of a surface that shines less than it is set to.

    Parameters: `true` [degC] of the surface; `emissivity` of it; `room` [degC], mirrored by it; `setting`.
    Returns: temperature [degC]. Valid range: 0 to 150 degC, a surface that fills the view.
    Source: Planck's law; setting 0.95 is common practice.

    >>> round(infrared_reading(70.0, 0.95), 1), round(infrared_reading(70.0, 0.3), 1)
    (70.0, 41.0)
    """
    mirrored = _radiance(room)
    seen = emissivity * _radiance(true) + (1.0 - emissivity) * mirrored
    wanted = (seen - (1.0 - setting) * mirrored) / setting
    low, high = -50.0, 500.0
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _radiance(middle) < wanted else (low, middle)
    return (low + high) / 2.0


def _radiance(temperature: float) -> float:
    """Return the radiance of a black body [degC] from 8 to 14 um, in arbitrary units, by the midpoint rule."""
    steps = 60
    lengths = (8e-6 + (k + 0.5) * 6e-6 / steps for k in range(steps))
    kelvin = temperature + 273.15
    return sum(1e-30 / (math.pow(length, 5) * math.expm1(0.014387769 / (length * kelvin))) for length in lengths)

"""What a battery's volts, charge, gas and tests mean, as plain formulas.

Knows no chemistry: curves and coefficients are parameters. Volts are those of a 12 V battery.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

__all__ = [
    "charge_at_rest",
    "charge_time",
    "compensated_voltage",
    "days_to_flat",
    "gravity_at_reference",
    "interpolated",
    "load_test_resistance",
    "rest_voltage_from_gravity",
]


def interpolated(at: float, over: Sequence[float], value: Sequence[float]) -> float:
    """Return a curve's value on the straight line between its points; beyond its ends the end value.

    Parameters: `at` and `over` in one unit, `over` rising; `value`, as long as `over`. Returns: in the unit of `value`.
    Raises: ValueError where the lengths differ or the curve is empty.

    >>> interpolated(62.5, [50, 75], [12.24, 12.44])
    12.34
    """
    if len(over) != len(value) or not over:
        raise ValueError(f"a curve of {len(over)} places and {len(value)} values")
    if at <= over[0]:
        return float(value[0])
    for k in range(1, len(over)):
        if at <= over[k]:
            share = (at - over[k - 1]) / (over[k] - over[k - 1])
            return value[k - 1] + share * (value[k] - value[k - 1])
    return float(value[-1])


def charge_at_rest(
    volts: float, temperature: float, charge: Sequence[float], rest: Sequence[float], coefficient: float = 0.0012
) -> float:
    """Return the charge that a rest voltage tells.

    Parameters: `volts` [V], rested; `temperature` [degC] of the battery; `charge` [%] and `rest` [V at 25 degC], both
    rising; `coefficient` [V/K], 0.2 mV/K a cell for lead-acid.
    Returns: charge [%], within the curve. Valid range: rested 3 h; for LFP the middle is too flat to tell.
    Source: H. Bode, D. Berndt for the coefficient (from memory).

    >>> round(charge_at_rest(12.31, 5.0, [0, 25, 50, 75, 100], [11.89, 12.06, 12.24, 12.45, 12.65]), 1)
    61.2
    """
    return interpolated(volts - coefficient * (temperature - 25.0), rest, charge)


def gravity_at_reference(gravity: float, temperature: float) -> float:
    """Return a hydrometer reading brought to 80 degF (26.7 degC), 0.004 for each 10 degF.

    Parameters: `gravity` [kg/l] as read; `temperature` [degC] of the electrolyte. Returns: gravity [kg/l].
    Valid range: -30 to 55 degC. Source: TM 10-3930-627-12, 4-33.

    >>> round(gravity_at_reference(1.250, (20 - 32) / 1.8), 3)
    1.226
    """
    return gravity + 0.0004 * (temperature * 1.8 + 32.0 - 80.0)


def rest_voltage_from_gravity(gravity: float, cells: int = 6) -> float:
    """Return the rest voltage of lead-acid cells, n (gravity + 0.845).

    Parameters: `gravity` [kg/l]; `cells`. Returns: volts [V]. Valid range: 1.08 to 1.32 kg/l, 25 degC.
    Source: DOE-HDBK-1084-95, p. 18, equation 6.

    >>> round(rest_voltage_from_gravity(1.265), 2)
    12.66
    """
    return cells * (gravity + 0.845)


def compensated_voltage(volts: float, temperature: float, compensation: float) -> float:
    """Return a charging voltage at the temperature of the battery.

    Parameters: `volts` [V] at 25 degC; `temperature` [degC]; `compensation` [V/K], below 0 for lead-acid, 0 for LFP.
    Returns: volts [V]. Valid range: 0 to 50 degC. Source: IEEE 1361 (from memory).

    >>> round(compensated_voltage(14.4, 0.0, -0.024), 2)
    15.0
    """
    return volts + compensation * (temperature - 25.0)


def days_to_flat(usable: float, drain: float, self_discharge: float = 0.0) -> float:
    """Return how long a standing battery lasts.

    Parameters: `usable` [Ah] that may be taken out; `drain` [A]; `self_discharge` [Ah a day].
    Returns: days, infinite with no drain at all. Valid range: drains far below the 20-hour current.
    Source: charge balance.

    >>> round(days_to_flat(30.0, 0.067, 0.075), 1)
    17.8
    """
    daily = 24.0 * drain + self_discharge
    return usable / daily if daily > 0.0 else math.inf


def charge_time(
    capacity: float, begin: float, end: float, current: float, tail: float, bulk_to: float = 85.0, kept: float = 0.95
) -> float:
    """Return the hours of a charge: constant current up to `bulk_to`, then a current that fades exponentially.

    Parameters: `capacity` [Ah]; `begin`, `end`, `bulk_to` [%] of charge; `current` [A] net of loads; `tail` [A], where
    the charge counts as done; `kept`, share of the charge put in that stays.
    Returns: hours [h]. The fading time constant is (100 - bulk_to) of capacity over current. A charge that ends below
    `bulk_to` has no tail: the current then stands to the end.
    Raises: ValueError where the current is not above 0, or `tail` is not between 0 and it.
    Valid range: lead-acid; a lower bound. Source: charge balance; NAVEDTRA 14113 for charge over current.

    >>> round(charge_time(100.0, 50.0, 95.0, 25.0, 2.0), 2)
    3.07
    """
    if not 0.0 < tail <= current:
        raise ValueError(f"a current of {current} A and a tail of {tail} A: want 0 < tail <= current")
    bulk = max(min(bulk_to, end) - begin, 0.0) / 100.0 * capacity / kept / current
    if end <= bulk_to:
        return bulk
    fading = (100.0 - max(bulk_to, begin)) / 100.0 * capacity / kept / current
    return bulk + fading * math.log(current / tail)


def load_test_resistance(cranking_amps: float, rested: float = 12.6, floor: float = 9.6) -> float:
    """Return the greatest resistance of a battery that passes the load test at half its cranking amps.

    Parameters: `cranking_amps` [A]; `rested` and `floor` [V]. Returns: resistance [ohm].
    Valid range: 21 degC or warmer for 9.6 V. Source: TM 5-4210-230-14&P-1 Table 5 for the floor.

    >>> round(load_test_resistance(600.0), 6)
    0.01
    """
    return (rested - floor) / (cranking_amps / 2.0)

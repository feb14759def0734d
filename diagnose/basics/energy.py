"""What a constant-power input makes of a supply with resistance, as plain formulas.

A DC-DC charger draws more current the lower its input sags. These formulas look at one charger behind one resistance;
whole installations are the business of `circuit`.
"""

from __future__ import annotations

import math

__all__ = [
    "charger_input_power",
    "collapse_power",
    "constant_power_voltage",
    "hunting_resistance",
    "input_resistance",
]


def charger_input_power(volts: float, current: float, efficiency: float, standing: float = 0.0) -> float:
    """Return what a charger takes in, P = V I / efficiency + standing.

    Parameters: `volts` [V] and `current` [A] at its output; `efficiency`, 0 to 1; `standing` [W] it uses itself.
    Returns: power [W]. Raises: ZeroDivisionError for an efficiency of 0. Source: energy balance.

    >>> charger_input_power(14.4, 30.0, 0.9)
    480.0
    """
    return volts * current / efficiency + standing


def collapse_power(source: float, resistance: float) -> float:
    """Return the most power a source gives behind a resistance, P = Vs^2 / 4R; more makes the input collapse.

    Parameters: `source` [V] with no current; `resistance` [ohm], out and back.
    Returns: power [W], infinite without resistance. Source: maximum power transfer.

    >>> round(collapse_power(12.0, 0.036), 6)
    1000.0
    """
    return source * source / (4.0 * resistance) if resistance > 0.0 else math.inf


def constant_power_voltage(source: float, resistance: float, power: float) -> float | None:
    """Return the volts at a constant-power input, the upper root V = (Vs + sqrt(Vs^2 - 4 R P)) / 2.

    Parameters: `source` [V] with no current; `resistance` [ohm], out and back; `power` [W].
    Returns: volts [V]; None above the collapse power. The lower root is unstable and never found in practice.
    Valid range: steady state, `power` 0 or more. Source: R. Erickson and D. Maksimovic, Fundamentals of power
    electronics (from memory).

    >>> round(constant_power_voltage(12.6, 0.030, 480.0), 3)
    11.329
    >>> constant_power_voltage(12.6, 0.100, 480.0) is None
    True
    """
    left = source * source - 4.0 * resistance * power
    return (source + math.sqrt(left)) / 2.0 if left >= 0.0 else None


def input_resistance(volts: float, power: float) -> float:
    """Return the small-signal resistance of a constant-power input, -V^2 / P.

    Parameters: `volts` [V] at the input; `power` [W]. Returns: resistance [ohm], below 0: the supply's resistance must
    stay under its size. Source: Middlebrook 1976 (from memory).

    >>> round(input_resistance(11.329, 480.0), 3)
    -0.267
    """
    return -volts * volts / power


def hunting_resistance(source: float, stops_below: float, current: float) -> float:
    """Return the supply resistance above which a charger that starts unloaded stops itself, R = (Vs - Voff) / I.

    Parameters: `source` [V] with no current, above the start threshold; `stops_below` [V]; `current` [A] at its input.
    Returns: resistance [ohm], out and back; 0 where the source is below the threshold already.
    Raises: ZeroDivisionError with no current. Source: Ohm's law.

    >>> round(hunting_resistance(13.1, 12.6, 40.0), 6)
    0.0125
    """
    return max(source - stops_below, 0.0) / current

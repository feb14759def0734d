"""What a conductor or joint does to volts and watts, as plain formulas.

Knows no table: every material figure is a parameter, with annealed copper as the default where it is the usual one.
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = [
    "cable_resistance",
    "hot_run_length",
    "joint_heat",
    "joint_resistance_limit",
    "needed_area",
    "parallel_resistance",
    "resistance_at",
    "voltage_drop",
]

_COPPER = 0.017241  # ohm.mm2/m at 20 degC, IEC 60028
_COPPER_PER_KELVIN = 0.00393  # 1/K of the resistance at 20 degC, IEC 60028


def resistance_at(resistance: float, temperature: float, coefficient: float = _COPPER_PER_KELVIN) -> float:
    """Return a resistance at another temperature, R = R20 (1 + a (T - 20)).

    Parameters: `resistance` [ohm] at 20 degC; `temperature` [degC]; `coefficient` [1/K] of the resistance at 20 degC.
    Returns: resistance [ohm]. Valid range: -50 to 200 degC. Source: IEC 60028 for copper.

    >>> round(resistance_at(1.0, 75.0), 4)
    1.2162
    """
    return resistance * (1.0 + coefficient * (temperature - 20.0))


def cable_resistance(
    area: float,
    length: float,
    temperature: float = 20.0,
    resistivity: float = _COPPER,
    coefficient: float = _COPPER_PER_KELVIN,
) -> float:
    """Return the resistance of a conductor, R = rho(T) L / A.

    Parameters: `area` [mm2]; `length` [m] of the conductor itself, out and back where both are meant;
    `temperature` [degC]; `resistivity` [ohm.mm2/m] at 20 degC; `coefficient` [1/K].
    Returns: resistance [ohm]. Raises: ValueError for an area that is not above 0 or a length below 0.
    Valid range: direct current. Source: IEC 60028 (1925); a flexible conductor has up to 16 % more (IEC 60228 class 5).

    >>> round(1000 * cable_resistance(16.0, 4.0), 3)
    4.31
    """
    if area <= 0.0 or length < 0.0:
        raise ValueError(f"area {area} mm2, length {length} m: the area must be above 0, the length 0 or more")
    return resistance_at(resistivity * length / area, temperature, coefficient)


def voltage_drop(current: float, *resistances: float) -> float:
    """Return the volts lost along resistances in a row, V = I (R1 + R2 + ...).

    Parameters: `current` [A]; `resistances` [ohm]. Returns: drop [V], with the sign of the current.
    Source: Ohm's law; AC 43.13-1B Table 11-7 works examples.

    >>> round(voltage_drop(40.0, 0.002, 0.0005), 3)
    0.1
    """
    return current * sum(resistances)


def needed_area(current: float, length: float, drop: float, resistivity: float = _COPPER) -> float:
    """Return the area that keeps a drop, A = rho I L / V; the next larger cable that is sold has to be taken.

    Parameters: `current` [A]; `length` [m], out and back; `drop` [V] allowed; `resistivity` [ohm.mm2/m] at the
    temperature wanted: 0.0164 is that of ISO 10133, 0.01787 that of ABYC E-11.
    Returns: area [mm2]. Raises: ValueError for a drop that is not above 0.
    Valid range: it allows for no joint. Source: ISO 10133 Annex, ABYC E-11.

    >>> round(needed_area(40.0, 12.0, 0.36, 0.0164), 2)
    21.87
    """
    if drop <= 0.0:
        raise ValueError(f"a drop of {drop} V cannot be kept, it must be above 0 V")
    return resistivity * current * length / drop


def hot_run_length(length: float, temperature: float, metal: str = "copper") -> float:
    """Return how long a run may be when hot, where it may be `length` at 20 degC.

    Parameters: `length` [m, or any unit] at 20 degC; `temperature` [degC] of the conductor; `metal`, copper or
    aluminium.
    Returns: length, same unit: 254.5 L / (234.5 + T) for copper, 258.1 L / (238.1 + T) for aluminium.
    Raises: KeyError for another metal. Valid range: -50 to 200 degC. Source: AC 43.13-1B, 11-66.

    >>> round(hot_run_length(107.0, 70.0), 2)
    89.43
    """
    zero = {"copper": 234.5, "aluminium": 238.1}[metal]
    return length * (zero + 20.0) / (zero + temperature)


def parallel_resistance(resistances: Iterable[float]) -> float:
    """Return the resistance of paths side by side, 1/R = 1/R1 + 1/R2 + ...

    Parameters: `resistances` [ohm], each above 0; an open path is infinite.
    Returns: resistance [ohm], infinite where every path is open. Raises: ValueError for one that is not above 0.
    Source: Kirchhoff's laws.

    >>> round(1000 * parallel_resistance([0.00524, 0.00169]), 3)
    1.278
    """
    conductance = 0.0
    for resistance in resistances:
        if not resistance > 0.0:
            raise ValueError(f"a path of {resistance} ohm, it must be above 0")
        conductance += 1.0 / resistance
    return 1.0 / conductance if conductance else float("inf")


def joint_heat(current: float, resistance: float) -> float:
    """Return the heat of a joint, P = I^2 R.

    Parameters: `current` [A]; `resistance` [ohm]. Returns: heat [W]. Source: Joule's law.

    >>> joint_heat(40.0, 0.0025)
    4.0
    """
    return current * current * resistance


def joint_resistance_limit(current: float, rise: float, thermal_resistance: float) -> float:
    """Return the resistance at which a joint is warmed by `rise`, R = rise / (Rth I^2).

    Parameters: `current` [A]; `rise` [K] allowed; `thermal_resistance` [K/W] to the surroundings.
    Returns: resistance [ohm]. Raises: ZeroDivisionError with no current.
    Valid range: a linear bound; conduction into the cable allows more. Source: steady heat balance.

    >>> round(1000 * joint_resistance_limit(40.0, 50.0, 73.0), 2)
    0.43
    """
    return rise / (thermal_resistance * current * current)

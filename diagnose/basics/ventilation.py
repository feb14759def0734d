"""How much air a charging battery needs and how far a spark must stay away, as plain formulas.

Knows no table: the gas currents are parameters. Local rules come first.
"""

from __future__ import annotations

import math

__all__ = ["hydrogen_volume", "spark_distance", "vent_opening", "ventilation_flow"]


def ventilation_flow(cells: int, gas_current: float, capacity: float) -> float:
    """Return the flow of fresh air a battery needs, Q = 0.05 n I C / 1000.

    Parameters: `cells`; `gas_current` [mA/Ah]: vented 5 on float, 20 on boost,
    valve-regulated 1 and 8; `capacity` [Ah].
    Returns: flow [m3/h]. Valid range: lead-acid, up to 40 degC. Source: IEC 62485-2, Table 1.

    >>> round(ventilation_flow(6, 20.0, 100.0), 2)
    0.6
    """
    return 0.05 * cells * gas_current * capacity * 1e-3


def vent_opening(flow: float) -> float:
    """Return the least opening, both of inlet and outlet, where air moves by itself, A = 28 Q.

    Parameters: `flow` [m3/h]. Returns: area [cm2]. Source: IEC 62485-2.

    >>> round(vent_opening(0.6), 1)
    16.8
    """
    return 28.0 * flow


def spark_distance(cells: int, gas_current: float, capacity: float) -> float:
    """Return how far sparks and glowing parts must stay away, d = 28.8 (n I C)^(1/3).

    Parameters: `cells`; `gas_current` [mA/Ah]; `capacity` [Ah]. Returns: distance [mm].
    Valid range: lead-acid in still air. Source: IEC 62485-2, annex B (from memory).

    >>> round(spark_distance(6, 20.0, 100.0))
    659
    """
    return 28.8 * math.pow(cells * gas_current * capacity, 1.0 / 3.0)


def hydrogen_volume(charge: float, cells: int = 1) -> float:
    """Return the hydrogen that overcharge sets free, at 0 degC and 101.325 kPa.

    Parameters: `charge` [Ah] that only splits water; `cells` in a row. Returns: volume [l].
    Source: Faraday's law: 3600 / (2 * 96485.33) mol/Ah of an ideal gas of 22.414 l/mol.

    >>> round(hydrogen_volume(1.0), 3)
    0.418
    """
    return cells * charge * 3600.0 / (2.0 * 96485.33212) * 22.41396954

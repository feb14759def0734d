"""A joint's resistance from a drop and the current that flowed, and whether it has drifted since the hand-over.

Numbers in, numbers out; which readings belong together is not known here.
"""

from __future__ import annotations

from math import hypot

from diagnose.model.commissioning import Baseline

__all__ = ["drifted", "resistance"]

#: standard uncertainties of a difference beyond which it counts as drift: 95 % of sound joints stay below
BEYOND = 1.96


def resistance(drop: float, drop_error: float, current: float, current_error: float) -> tuple[float, float]:
    """Return a resistance [ohm] and its standard uncertainty [ohm].

    Parameters: `drop` [V] and `current` [A], each with its standard uncertainty.
    Raises: ValueError where no current flowed.
    Source: Ohm's law; relative errors of a quotient add in quadrature.

    >>> ohms, uncertainty = resistance(0.30, 0.003, 50.0, 0.5)
    >>> round(ohms, 6), round(uncertainty, 7)
    (0.006, 8.49e-05)
    """
    if current == 0:
        raise ValueError("no current flowed: a drop without current tells no resistance")
    return abs(drop / current), hypot(drop_error / current, drop * current_error / current**2)


def drifted(then: Baseline, now: Baseline) -> bool:
    """Return whether a resistance has changed by more than both uncertainties leave open (95 %).

    Raises: ValueError where the two are not of the same joint.

    >>> old = Baseline("tray_strap", ("tray", "chassis"), 0.0005, 0.0001)
    >>> drifted(old, old._replace(ohms=0.0007)), drifted(old, old._replace(ohms=0.0020))
    (False, True)
    """
    if then.part != now.part or set(then.between) != set(now.between):
        raise ValueError(f"`{then.part}` and `{now.part}` are not the same joint")
    return abs(now.ohms - then.ohms) > BEYOND * hypot(then.uncertainty, now.uncertainty)

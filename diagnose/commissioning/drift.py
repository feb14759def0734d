"""A joint's resistance from a drop and the current that flowed, and whether it has drifted since the hand-over.

Numbers in, numbers out; which readings belong together is not known here,
only which two resistances are of the same joint.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot

from diagnose.model.commissioning import Baseline

__all__ = ["drifted", "paired", "resistance"]

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


def paired(then: Iterable[Baseline], now: Iterable[Baseline]) -> tuple[tuple[Baseline, Baseline | None, bool], ...]:
    """Return each joint of `then` with what it is now (None: not read again), and whether it has drifted.

    A joint that was read more than once counts as it was read last; one that is new in `now` has nothing to be held
    against and is left out.

    >>> old = Baseline("tray_strap", ("tray", "chassis"), 0.0005, 0.0001)
    >>> [(now and now.ohms, far) for _, now, far in paired([old, old._replace(part="b")], [old._replace(ohms=0.002)])]
    [(0.002, True), (None, False)]
    """
    first, last = ({(one.part, frozenset(one.between)): one for one in joints} for joints in (then, now))
    return tuple(
        (one, found, found is not None and drifted(one, found))
        for one, found in ((one, last.get(joint)) for joint, one in first.items())
    )

"""How a fuse is chosen between its load and its cable, as plain formulas.

Knows no table: the ratings that are sold and the factors are parameters. A fuse protects the cable, never the load.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

__all__ = ["FuseChoice", "choose_fuse", "fuse_resistance", "hot_fuse_share"]


class FuseChoice(NamedTuple):
    """The ratings [A] that fit: `least` the load allows, `most` the cable allows, and the ratings sold between them."""

    least: float
    most: float
    ratings: tuple[float, ...]


def choose_fuse(current: float, ampacity: float, sold: Iterable[float], margin: float = 1.25) -> FuseChoice:
    """Return the fuses that carry a load and protect a cable, I margin <= In <= ampacity.

    Parameters: `current` [A], continuous; `ampacity` [A] of the cable as it lies; `sold` ratings [A]; `margin`, least
    rating over current: 1.25, or 1/0.75 for a 75 % duty limit.
    Returns: the bounds and the ratings between them; none where the cable is too thin for the load.
    Valid range: below 50 V; 33 CFR 183.455(c)(1) lets a rating go to 1.5 times the ampacity where none fits.
    Source: NEC for the margin (from memory), 33 CFR 183.455.

    >>> choose_fuse(40.0, 68.0, [30, 40, 50, 60, 70, 80])
    FuseChoice(least=50.0, most=68.0, ratings=(50, 60))
    """
    least = current * margin
    return FuseChoice(least, ampacity, tuple(sorted(rating for rating in sold if least <= rating <= ampacity)))


def fuse_resistance(drop: float, rating: float) -> float:
    """Return the resistance of a fuse element from its drop at rated current.

    Parameters: `drop` [V] at `rating` [A]. Returns: resistance [ohm], hot. Source: DIN 72581-3 gives drops.

    >>> round(1000 * fuse_resistance(0.100, 60.0), 2)
    1.67
    """
    return drop / rating


def hot_fuse_share(temperature: float, melts_at: float = 419.0, reference: float = 23.0) -> float:
    """Return what share of its rating a fuse carries in warm surroundings, sqrt((Tm - T) / (Tm - T0)).

    Parameters: `temperature` [degC] around it; `melts_at` [degC], 419 for zinc; `reference` [degC] of its rating.
    Returns: share of the rating, 0 from the melting point up. Valid range: -40 to 125 degC; a model, no maker's curve.
    Source: heat balance with constant heat transfer.

    >>> round(hot_fuse_share(60.0), 3), round(hot_fuse_share(85.0), 3)
    (0.952, 0.918)
    """
    return math.sqrt(max(melts_at - temperature, 0.0) / (melts_at - reference))

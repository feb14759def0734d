"""Which variants make the same circuit once the nodes without devices are eliminated.

A bad joint at either end of a cable is one and the same circuit to every device, so it is solved once. Variants are
told apart by random sums of all that a solution depends on, to ten digits; that two differ and are not told apart is
as unlikely as two random numbers of ten digits being equal.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.circuit.newton import Network, reduce_network
from diagnose.circuit.parameters import Parameters, width
from diagnose.circuit.wiring import Wiring

__all__ = ["alike", "likeness"]

DIGITS = 10


def likeness(wiring: Wiring, parameters: Parameters) -> Array:
    """Return a number by variant that is the same where only nodes without devices make a difference."""
    return np.round(_sums(wiring, reduce_network(wiring, parameters["resistance"]), parameters), DIGITS)


def alike(
    wiring: Wiring, network: Network, parameters: Parameters, switched: Sequence[Array], block: int
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the first block of each kind of blocks that make the same circuit, and the kind of every block.

    Parameters: `switched`, what is on in each variant, each of shape (variants,); `block`, how many variants stand
    together as one set of vehicles.
    """
    sums = _sums(wiring, network, parameters)
    for k, switch in enumerate(switched):
        sums = sums + (0.1 + 1.7 * k) * switch
    rounded = np.round(sums.reshape(-1, block), DIGITS)
    _, first, kind = np.unique(rounded, axis=0, return_index=True, return_inverse=True)
    return first, kind.ravel()


def _sums(wiring: Wiring, network: Network, parameters: Parameters) -> Array:
    """Return random sums, by variant, of all that a solution at the nodes with devices depends on."""
    contacts = [relay.edge for relay in wiring.relays]
    rows = [network.conductance, 1.0 / parameters["resistance"][contacts]]
    rows += [values for name, values in parameters.items() if name != "resistance"]
    random = np.random.default_rng(1)
    total = np.zeros(width(parameters))
    for values in rows:
        known = np.nan_to_num(values, posinf=1e6, neginf=-1e6)
        scale = np.maximum(np.abs(known).max(axis=1, initial=0.0), 1e-300)
        total += (random.uniform(0.5, 1.0, len(known)) / scale) @ known
    return total

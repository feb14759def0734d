"""Which nodes are joined by so little resistance that a voltmeter between them takes nothing worth counting.

A voltmeter's own current matters only across a break or a nearly broken joint. This file finds where it cannot
matter, so that the exact answer (`tangent`) is worked out for the few variants that are left.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.modes import Solution
from diagnose.circuit.wiring import Wiring

__all__ = ["solid_groups"]

#: resistance of one joint, or of a device where it stands [ohm]; twenty in a row are a hundred-thousandth of a meter
SOLID = 5.0


def solid_groups(wiring: Wiring, solution: Solution, each: int) -> NDArray[np.intp]:
    """Return a number by node that is the same where nodes are firmly joined in every variant of a block.

    Parameters: `each`, how many variants stand side by side in a block.
    Returns: shape (nodes, blocks); nodes with different numbers may still be joined, by more resistance.
    """
    blocks = solution.resistance.shape[1] // each
    joints, devices = (
        np.all(firm.reshape(len(firm), blocks, each), axis=2)
        for firm in (solution.resistance < SOLID, solution.slope > 1.0 / SOLID)
    )
    pairs = [*zip(wiring.edge_a.tolist(), wiring.edge_b.tolist(), joints, strict=True)]
    pairs += [(a, b, firm) for (a, b), firm in zip(wiring.branch_nodes.tolist(), devices, strict=True)]
    pairs = [(a, b, firm) for a, b, firm in pairs if a != b and firm.any()]
    group = np.tile(np.arange(len(wiring.nodes))[:, None], (1, blocks))
    while True:
        before = group.copy()
        for a, b, firm in [*pairs, *reversed(pairs)]:
            least = np.minimum(group[a], group[b])
            np.copyto(group[a], least, where=firm)
            np.copyto(group[b], least, where=firm)
        if (group == before).all():
            return group

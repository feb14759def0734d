"""Which tests look straight at a suspect: across its own joint, at its own terminals, or at the part itself.

A part may be convicted by readings elsewhere alone, where nothing else that is known explains them. Before it is
replaced it is worth a minute to measure it, since what is not known may explain them as well.
"""

from __future__ import annotations

from diagnose.circuit.graph import lug
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Cable, Fuse
from diagnose.model.reading import Take
from diagnose.model.terminals import ends_of, points_of

__all__ = ["is_direct"]

#: quantities that name the part, or one end of it
AT_THE_PART = ("tug", "wiggle", "celsius", "works", "lamp", "load_test", "gravity")
#: faults that the eye settles; of others it sees only some
SEEN = ("blown", "wrong_rating", "wrong_connection", "wrong_setting", "reversed", "undersized")

#: faults of a joint, which may as well be at the other end of the part, or in its middle
JOINTS = ("open_circuit", "high_resistance", "intermittent")


def is_direct(take: Take, fault: FaultAt, installation: Installation) -> bool:
    """Return whether a test looks straight at a suspect.

    A drop counts if both probes are on the part's own points and lugs and, for a fault of one end, one of them is
    there: of a poor joint on its lug, since the drop across the whole part does not tell which joint it is. A current
    does not count, as it is the same all along a run, save that of a load which takes too much.
    """
    part = installation.parts[fault.part]
    if take.quantity in AT_THE_PART or (take.quantity == "look" and fault.fault in SEEN):
        name, _, end = take.where[0].partition("@")
        if take.quantity == "lamp":
            return part.kind == "charger"
        return name == fault.part and (not end or fault.at is None or end == fault.at)
    if take.quantity == "amps":
        return fault.fault == "excess_load" and take.where == (fault.part,)
    if take.quantity not in ("volts", "ohms", "ripple"):
        return False
    own = {*points_of(part), *ends_of(part)}
    lugs = {lug(fault.part, end): end for end in part.ends} if isinstance(part, Cable | Fuse) else {}
    if not set(take.where) <= {*own, *lugs}:
        return False
    if lugs and fault.fault in JOINTS:
        return any(fault.at in (None, lugs[place]) for place in take.where if place in lugs)
    return fault.at is None or fault.at in take.where or take.quantity == "ripple"

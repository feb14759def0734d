"""What a meter shows when it is used wrongly, and the lesson of it: ohms on a live circuit, a clamp not zeroed, a drop
without load.

It judges one test and its reading; it keeps no account.
"""

from __future__ import annotations

import zlib
from typing import NamedTuple

from diagnose.circuit.topology import negative_side
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Take

__all__ = ["Misuse", "drop_without_load", "ohms_on_live", "unzeroed_clamp"]

#: least and greatest amperes that a clamp shows too much before it is zeroed (no published figure: judgement)
OFFSET_LEAST, OFFSET_MOST = 0.4, 1.2
#: volts across an ohmmeter's probes above which what it shows is no resistance, and below which a drop is none
LIVE_VOLTS, NO_DROP = 0.005, 0.03
#: states in which next to nothing flows
RESTING = ("at_rest", "key_on")


class Misuse(NamedTuple):
    """What is shown instead, and what is to be learned."""

    read: Read
    lesson: str


def ohms_on_live(volts: float, case: int) -> Misuse:
    """Return what an ohmmeter shows across points that carry volts [V]: nothing that means anything.

    >>> ohms_on_live(0.0, 7).read.text
    'unsteady'
    >>> ohms_on_live(12.6, 7).read.kind
    'over_range'
    """
    lesson = (
        "Ohms are measured dead: the circuit is live here, the meter's own small current is drowned, and what it shows "
        "is no resistance. It can harm the meter. Type `state isolated` first."
    )
    read = Read("over_range", "OL") if abs(volts) > LIVE_VOLTS else Read("unsteady", "unsteady")
    return Misuse(read, lesson)


def unzeroed_clamp(read: Read, case: int) -> Misuse:
    """Return a clamp's reading with what its jaws hold added, the same through one case.

    >>> unzeroed_clamp(Read("number", "10", 10.0), 7).read.value != 10.0
    True
    """
    lesson = (
        "The clamp was not zeroed: its jaws hold magnetism, and every reading is off by the same amount until you "
        "type `zero`."
    )
    if read.kind != "number" or read.value is None:
        return Misuse(read, lesson)
    share = zlib.crc32(f"clamp {case}".encode()) / 0xFFFFFFFF
    offset = (OFFSET_LEAST + share * (OFFSET_MOST - OFFSET_LEAST)) * (1 if zlib.crc32(b"%d" % case) % 2 else -1)
    value = round(read.value + offset, 3)
    return Misuse(Read("number", f"{value:.4g}", value), lesson)


def drop_without_load(take: Take, read: Read, installation: Installation) -> str:
    """Return the lesson where volts along one run were read while nothing flows, or nothing."""
    if take.quantity != "volts" or take.when not in RESTING or read.value is None or abs(read.value) > NO_DROP:
        return ""
    negative = negative_side(installation)
    points = [place.partition("@")[2] or place for place in take.where]
    sides = {point in negative for point in points}
    if len(sides) != 1:
        return ""
    return (
        "No current flows in this state, so there is no drop to be measured, whatever the joint is like. Let the "
        "charger or the loads run, and take it again."
    )

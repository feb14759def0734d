"""A test that can be taken, and a reading: the test with what was read.

`Take` is what the readings form calls an entry without `read`. The records hold words and numbers; what they mean is
the business of `prediction` and `inference`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from diagnose.model.fault import FaultAt

__all__ = ["QUANTITIES", "STATES", "Read", "Reading", "State", "Take", "since_repair"]

State = Literal[
    "at_rest", "key_on", "engine_running", "engine_idle", "engine_running_loaded", "loaded", "cranking", "mains_on",
    "sun_only", "engine_and_sun", "isolated",
]
STATES: tuple[str, ...] = State.__args__  # type: ignore[attr-defined]

#: quantity -> (number of places it names, unit of a number or None where it is always a word)
QUANTITIES: dict[str, tuple[int, str | None]] = {
    "volts": (2, "V"), "amps": (1, "A"), "ohms": (2, "ohm"), "ripple": (2, "V"), "celsius": (1, "degC"),
    "lamp": (1, None), "look": (1, None), "smell": (1, None), "works": (1, None), "tug": (1, None), "wiggle": (1, None),
    "load_test": (1, "V"), "gravity": (1, ""),
}


class Take(NamedTuple):
    """A test: which quantity, where, in which state, with what fitted."""

    quantity: str
    where: tuple[str, ...]
    when: str
    meter: str = "multimeter"
    jumper: tuple[str, str] | None = None
    swap: str | None = None


class Read(NamedTuple):
    """What was read: a word, a number, a number below a bound, `OL`, or `unsteady` with or without its two ends.

    `kind` is one of number, below, word, over_range, unsteady, skipped. `value` and `high` are in the unit of the
    quantity; `text` keeps what was typed.
    """

    kind: str
    text: str
    value: float | None = None
    high: float | None = None
    word: str | None = None


class Reading(NamedTuple):
    """One entry of a readings file: a test with what was read, or a repair."""

    take: Take | None
    read: Read | None
    repaired: FaultAt | None = None


def since_repair(readings: Sequence[Reading]) -> int:
    """Return where the readings of the installation as it is now begin: behind the last repair.

    >>> since_repair([Reading(None, None), Reading(None, None, FaultAt("blown", "fuse")), Reading(None, None)])
    2
    """
    return max((i + 1 for i, reading in enumerate(readings) if reading.repaired is not None), default=0)

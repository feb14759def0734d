"""What people get wrong with a meter: the probe on another place, a decimal point lost, the wrong word.

Functions of a test and a random generator; what is found elsewhere is asked of the vehicle by the caller.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Take
from diagnose.model.terminals import points_of

__all__ = ["elsewhere", "misplaced_point", "wrong_word"]


def elsewhere(take: Take, installation: Installation, chance: np.random.Generator) -> Take:
    """Return the test as taken by mistake: one probe on another point, or the clamp round another part of its kind.

    A battery's own posts in the state `isolated` are the only volts there are, so nothing else is read by mistake.
    """
    if take.quantity in ("volts", "ohms", "ripple") and take.when != "isolated":
        points = sorted({p for part in installation.parts.values() for p in points_of(part)} - set(take.where))
        other = str(chance.choice(points))
        return take._replace(where=(other, take.where[1]) if chance.random() < 0.5 else (take.where[0], other))
    kind = installation.parts[take.where[0]].kind if take.where[0] in installation.parts else ""
    alike = [n for n, p in installation.parts.items() if p.kind == kind and n != take.where[0]]
    return take._replace(where=(str(chance.choice(alike)),)) if alike else take


def misplaced_point(read: Read, chance: np.random.Generator) -> Read:
    """Return a number ten times too large or too small.

    >>> misplaced_point(Read("number", "12.6", 12.6), np.random.default_rng(1)).value in (126.0, 1.26)
    True
    """
    if read.kind != "number" or read.value is None:
        return read
    value = float(f"{read.value * (10.0 if chance.random() < 0.5 else 0.1):.6g}")
    return Read("number", f"{value:.4g}", value)


def wrong_word(read: Read, words: Sequence[str], chance: np.random.Generator) -> Read:
    """Return another of the words that may be read, if there is one."""
    others = [word for word in words if word != read.word]
    word = str(chance.choice(others)) if others else read.word
    return Read("word", word or "", word=word)

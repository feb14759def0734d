"""A fault at a place: which fault, which part, which end, how large.

The rule that tells what such a fault does is `model.rules.FaultRule`; this record is only the name of one hypothesis.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["FaultAt"]


class FaultAt(NamedTuple):
    """A fault of the rule base at one place of an installation.

    `at` is the point of the end that fails, or None for the part itself; `to` is where a misplaced end went; `size`
    is in the unit of the fault's rule, or None where it is not known or does not apply.
    """

    fault: str
    part: str
    at: str | None = None
    to: str | None = None
    size: float | None = None

    @property
    def place(self) -> tuple[str, str | None]:
        """The part and the end that would be mended: faults of one place call for one repair.

        >>> FaultAt("blown", "fuse").place == FaultAt("open_circuit", "fuse").place
        True
        """
        return self.part, self.at

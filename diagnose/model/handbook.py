"""The record of a page of the handbook: one fault with all that the rule base says of it, and how it reads on one
installation.

It only carries; it must not choose or word anything.
"""

from __future__ import annotations

from typing import NamedTuple

from diagnose.model.causes import CauseRule
from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Source
from diagnose.model.installation import Installation
from diagnose.model.rules import Caution, FaultRule, TestRule

__all__ = ["HandbookPage", "Here", "Telling"]


class Telling(NamedTuple):
    """A test that tells a fault from a sound installation: what either reads, and the share of vehicles it tells."""

    sound: Expected
    faulty: Expected
    share: float


class Here(NamedTuple):
    """A fault on one installation: `places` where it can sit, likeliest first, and how it reads at the first of them.

    `telling` are the tests that show it most surely, best first; none where no test does.
    """

    installation: Installation
    places: tuple[FaultAt, ...]
    telling: tuple[Telling, ...]


class HandbookPage(NamedTuple):
    """A fault with all that the rules say of it.

    `complaints`, what people say, each with how many times as often as with other faults, most first; `causes` that
    bring it about; `tests` that prove it; `to_prove` and `to_repair`, the cautions before either; `sources` that are
    cited, by id; `judged`, how many numbers rest on judgement.
    """

    rule: FaultRule
    complaints: tuple[tuple[str, float], ...]
    causes: tuple[CauseRule, ...]
    tests: tuple[TestRule, ...]
    to_prove: tuple[Caution, ...]
    to_repair: tuple[Caution, ...]
    sources: tuple[tuple[str, Source], ...]
    judged: int
    here: Here | None

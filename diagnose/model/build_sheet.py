"""The build sheet of an installation: what to buy, what to cut, in which order, where to stop and prove.

Holds words and figures ready to be shown; it computes nothing.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["BuildSheet", "CableRow", "FuseRow", "PartRow", "TorqueRow"]


class CableRow(NamedTuple):
    """One cable to make: its size, the length to cut [m], where each end goes, and where it runs."""

    name: str
    size: str
    length: str
    ends: tuple[str, str]
    runs: str


class FuseRow(NamedTuple):
    """One fuse to fit, with its holder's place."""

    name: str
    rating: str
    style: str
    breaks: str
    place: str


class PartRow(NamedTuple):
    """One other part: its kind, what it must be, and where it stands."""

    name: str
    kind: str
    what: str
    place: str


class TorqueRow(NamedTuple):
    """Tightening torque [N.m] of one stud on brass or copper, and the most that a stiff nut may drag beside it."""

    stud: str
    torque: str
    drag: str


class BuildSheet(NamedTuple):
    """The whole sheet, cautions first."""

    title: str
    cautions: tuple[str, ...]
    unfinished: tuple[str, ...]
    parts: tuple[PartRow, ...]
    cables: tuple[CableRow, ...]
    totals: tuple[str, ...]
    lugs: tuple[str, ...]
    fuses: tuple[FuseRow, ...]
    torques: tuple[TorqueRow, ...]
    torque_note: str
    order: tuple[str, ...]
    hold_points: tuple[str, ...]
    consumables: tuple[str, ...]

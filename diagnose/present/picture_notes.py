"""The words that stand in a wiring picture: each reading at the place it was taken, each repaired fault at its part.

Wording only; where a word stands in the picture is decided by `drawing`.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation, name_of
from diagnose.model.picture import Note
from diagnose.model.ranking import Ranking
from diagnose.model.reading import Reading, Take
from diagnose.model.terminals import ends_of

__all__ = ["convicted_faults", "reading_notes"]


def convicted_faults(ranking: Ranking) -> tuple[FaultAt, ...]:
    """Return the faults that the readings convict and that are likelier than not."""
    return tuple(f for e in ranking.faults if e.convicted and e.probability > 0.5 for f in (e.fault, *e.together))


def reading_notes(
    readings: Sequence[Reading], convicted: Sequence[FaultAt], installation: Installation
) -> dict[str, list[Note]]:
    """Return the notes of a picture by the id of the point or part they stand at.

    Parameters: `convicted`, the faults that the readings have convicted and that are not mended.
    """
    notes: dict[str, list[Note]] = {}
    for number, reading in enumerate(readings, 1):
        if reading.repaired is not None:
            words = reading.repaired.fault.replace("_", " ")
            notes.setdefault(reading.repaired.part, []).append(Note(f"REPAIRED at {number}: {words}", True))
        elif reading.take is not None and reading.read is not None:
            place, about = _place(reading.take, installation)
            when = reading.take.when.replace("_", " ")
            notes.setdefault(place, []).append(Note(f"{number}. {about}{reading.read.text}, {when}"))
    for fault in convicted:
        notes.setdefault(fault.part, []).insert(0, Note(f"FAULT: {fault.fault.replace('_', ' ')}", True))
    return notes


def _place(take: Take, installation: Installation) -> tuple[str, str]:
    """Return where a reading stands, and the words before its value."""
    if len(take.where) == 2:
        first, second = take.where
        for name, part in installation.parts.items():
            if ends_of(part) and set(ends_of(part)) == {first, second}:
                return name, "drop " if take.quantity == "volts" else f"{take.quantity} "
        for one, other in ((first, second), (second, first)):
            if "@" in one:
                words = " to ".join(_said(place, installation) for place in take.where)
                return one.partition("@")[0], f"{take.quantity} {words}: "
            if one not in installation.points and other in installation.points:
                return other, f"{take.quantity} to {_said(one, installation)}: "
        return first, f"{take.quantity} to {_said(second, installation)}: "
    place = take.where[0].partition("@")[0]
    if place not in installation.parts and place not in installation.points:
        chargers = [name for name, part in installation.parts.items() if part.kind == "charger"]
        return (chargers or list(installation.parts))[0], f"{take.quantity} {place.replace('_', ' ')}: "
    return place, f"{take.quantity}: "


def _said(place: str, installation: Installation) -> str:
    part, _, point = place.partition("@")
    words = name_of(part, installation)
    return f"{words} at {name_of(point, installation)}" if point else words

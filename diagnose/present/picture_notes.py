"""The words that stand in a wiring picture: each reading at the place it was taken, each repaired fault at its part.

Wording only; where a word stands in the picture is decided by `drawing`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from diagnose.model.commissioning import StepResult
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation, name_of
from diagnose.model.picture import Note
from diagnose.model.ranking import Ranking
from diagnose.model.reading import QUANTITIES, Read, Reading, Take
from diagnose.model.terminals import ends_of
from diagnose.present.walk_words import no_minus_zero

__all__ = ["convicted_faults", "kept", "read_words", "reading_notes", "step_notes"]

#: a number to which no unit was typed
_BARE = re.compile(r"(?:<|>)?\s*[-+−]?[\d.,]+(?:[eE][-+]?\d+)?")

#: the space between a number and its unit
_UNIT = re.compile(r"(?<=\d) (?=(?:V|A|mV|mA|ohm|milliohm|degC|mm|Nm|K)\b)")


def kept(text: str) -> str:
    """Return text in which a number and its unit are joined by a space that does not break."""
    return _UNIT.sub("\u00a0", text)


def convicted_faults(ranking: Ranking) -> tuple[FaultAt, ...]:
    """Return the faults that the readings convict and that are likelier than not."""
    return tuple(f for e in ranking.faults if e.convicted and e.probability > 0.5 for f in (e.fault, *e.together))


def read_words(read: Read, take: Take | None) -> str:
    """Return what was read as it was typed, with its unit where none was typed, and no sign before a zero.

    >>> amps = Take("amps", ("fridge",), "loaded")
    >>> read_words(Read("number", "-0.00", 0.0), amps), read_words(Read("number", "40 mA", 0.04), amps)
    ('0.00\\xa0A', '40\\xa0mA')
    """
    unit = QUANTITIES[take.quantity][1] or "" if take is not None else ""
    text = f"{read.text} {unit}".strip() if _BARE.fullmatch(read.text.strip()) else read.text
    return kept(no_minus_zero(text))


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
            read = read_words(reading.read, reading.take)
            notes.setdefault(place, []).append(Note(f"{number}. {about}{read}, {when}"))
    for fault in convicted:
        notes.setdefault(fault.part, []).insert(0, Note(f"FAULT: {fault.fault.replace('_', ' ')}", True))
    return notes


def step_notes(rows: Sequence[StepResult], installation: Installation, short: bool = False) -> dict[str, list[Note]]:
    """Return the notes of a hand-over record's picture: each reading by the number of its step, what failed heavy.

    Parameters: `short`, whether what passed is shown by its number alone, as there is room for on paper. A word that
    passed stays out: dozens of `good` would hide the rest.
    """
    notes: dict[str, list[Note]] = {}
    passed: dict[str, list[str]] = {}
    for number, row in enumerate(rows, 1):
        take, read = row.step.take, row.reading.read if row.reading is not None else None
        passed_by_word = row.verdict == "PASS" and read is not None and read.kind == "word"
        if take is not None and read is not None and read.kind != "skipped" and not passed_by_word:
            place, about = _place(take, installation)
            if short and row.verdict == "PASS":
                passed.setdefault(place, []).append(str(number))
                continue
            failed = row.verdict == "FAIL"
            text = f"{number}. {about}{read_words(read, take)}{', FAIL' if failed else ''}"
            notes.setdefault(place, []).append(Note(text, failed))
    for place, numbers in passed.items():
        notes.setdefault(place, []).append(Note(f"passed: {', '.join(numbers)}"))
    return notes


def _place(take: Take, installation: Installation) -> tuple[str, str]:
    """Return where a reading stands, and the words before its value."""
    if len(take.where) == 2:
        first, second = take.where
        for name, part in installation.parts.items():
            if ends_of(part) and set(ends_of(part)) == {first, second}:
                return name, "drop " if take.quantity == "volts" else f"{take.quantity} "
        for one, other in ((first, second), (second, first)):
            if one.partition("@")[2] == other:
                return one.partition("@")[0], f"joint at {name_of(other, installation)}: "
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
    # a number has its unit, which tells what it is; a word has none
    return place, "" if QUANTITIES[take.quantity][1] else f"{take.quantity}: "


def _said(place: str, installation: Installation) -> str:
    part, _, point = place.partition("@")
    words = name_of(part, installation)
    return f"{words} at {name_of(point, installation)}" if point else words

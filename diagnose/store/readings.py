"""Loads a readings file: the complaint and, in order, what was read.

Everything wrong is gathered and raised at once, each defect with its place. Must not judge what the readings mean.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Any, NamedTuple

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.model.installation import Installation
from diagnose.model.reading import Reading
from diagnose.store.reading_entry import METERS, EntryReader
from diagnose.store.reading_places import ReadingPlaces
from diagnose.store.yaml_text import Document, Loc, read_yaml

__all__ = ["ReadingsFile", "load_readings", "readings_from_document"]

_LONGEST_COMPLAINT = 2000
_MOST = 5000  # readings: a long job has forty
_KEYS = ("complaint", "readings")


class ReadingsFile(NamedTuple):
    """The complaint, the readings in order, and the place [line, column, from 1] of each reading."""

    complaint: str | None
    readings: tuple[Reading, ...]
    positions: tuple[tuple[int, int], ...]


def load_readings(
    path: Path | str,
    installation: Installation,
    *,
    needs_read: bool = True,
    meters: Collection[str] = METERS,
    faults: Collection[str] | None = None,
) -> ReadingsFile:
    """Return the readings of a file.

    Parameters: `path`; `installation` they were taken on; `needs_read`, False where entries only ask what to expect;
    `meters` and `faults`, the ids the rule base knows (`faults` None: any is taken).
    Returns: complaint, readings and their places.
    Raises: BadInput with every defect and its place.
    """
    document = read_yaml(path)
    reader = EntryReader(document, ReadingPlaces(installation), needs_read, meters, faults)
    reader.problems += document.problems
    if isinstance(document.data, dict):
        reader.problems += [_unknown_key(document, key) for key in document.data if key not in _KEYS]
    result = _gathered(document.data, (), reader)
    if reader.problems:
        raise BadInput(reader.problems)
    return result


def readings_from_document(
    document: Document,
    installation: Installation,
    loc: Loc = (),
    faults: Collection[str] | None = None,
    needs_read: bool = True,
) -> ReadingsFile:
    """Return the `complaint:` and `readings:` that stand beside other keys in another file, such as a worked case.

    Parameters: `document`; `installation`; `loc`, the path of the mapping that holds the two keys. Defects of the
    reading of `document` itself are the caller's to report.
    Raises: BadInput with every defect and its place.
    """
    data = document.data
    for step in loc:
        data = data[step]
    reader = EntryReader(document, ReadingPlaces(installation), needs_read, faults=faults)
    result = _gathered(data, loc, reader)
    if reader.problems:
        raise BadInput(reader.problems)
    return result


def _gathered(data: Any, loc: Loc, reader: EntryReader) -> ReadingsFile:
    """Return what can be read; what cannot is in the reader's problems."""
    document = reader.document
    if not isinstance(data, dict):
        right = "write complaint: and readings:"
        reader.problems.append(document.problem(loc, "this is no set of readings", right))
        return ReadingsFile(None, (), ())
    complaint = _complaint(data.get("complaint"), (*loc, "complaint"), reader)
    entries = data.get("readings")
    if "readings" not in data and complaint is None:
        right = "write readings: and what was read"
        reader.problems.append(document.problem(loc, "`readings` is missing", right, key=True))
    if entries is not None and not isinstance(entries, list):
        right = "write one line for each, beginning with a dash"
        reader.problems.append(document.problem((*loc, "readings"), "`readings` is no list", right))
    listed: list[Any] = entries if isinstance(entries, list) else []
    if len(listed) > _MOST:
        what = f"more than {_MOST} readings"
        reader.problems.append(document.problem((*loc, "readings", _MOST), what, "keep those that matter"))
    places: list[Loc] = [(*loc, "readings", index) for index in range(min(len(listed), _MOST))]
    read = [(reader.entry(entry, place), place) for entry, place in zip(listed, places, strict=False)]
    kept = [(reading, document.place(place)) for reading, place in read if reading is not None]
    return ReadingsFile(complaint, tuple(reading for reading, _ in kept), tuple(place for _, place in kept))


def _complaint(raw: Any, loc: Loc, reader: EntryReader) -> str | None:
    """Return the complaint, free text or an id, as it was written."""
    if raw is None:
        return None
    if isinstance(raw, dict | list | bool):
        reader.problems.append(reader.document.problem(loc, "the complaint is no text", "write it in your own words"))
        return None
    text = str(raw).strip()
    if len(text) > _LONGEST_COMPLAINT:
        right = f"say it in {_LONGEST_COMPLAINT} characters"
        reader.problems.append(reader.document.problem(loc, "the complaint is too long", right))
    return text or None


def _unknown_key(document: Document, key: str) -> Problem:
    right = meant(key, _KEYS, f"known here are {', '.join(_KEYS)}")
    return document.problem((key,), f"unknown key `{key}`", right, key=True)

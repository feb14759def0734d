"""Whether the events of a job fit the installation and the rules: a record that was edited must not reach the engine.

Looks at places, words and faults alone; whether an event has its place in the walk is not known here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

from diagnose.basics.errors import BadInput, Problem
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES, Read, Take
from diagnose.model.words import words_for
from diagnose.session.events import Event
from diagnose.store.jobs import Job
from diagnose.store.reading_entry import METERS
from diagnose.store.reading_places import ReadingPlaces, Said

__all__ = ["check_events", "seed_of"]

_RIGHT = "restore the record from a copy"


def check_events(job: Job, installation: Installation, faults: Collection[str]) -> None:
    """Refuse a job whose events do not fit.

    Parameters: `job`; `installation`, of the job; `faults`, the ids that the rules know.
    Raises: BadInput with every event that names a place, a word or a fault that is none.
    """
    places = ReadingPlaces(installation)
    problems = [
        Problem(str(job.path), number, 1, what, right)
        for number, event in enumerate(job.events, 2)
        for what, right in _misfits(event, places, faults)
    ]
    if problems:
        raise BadInput(problems)


def seed_of(path: Path, head: Mapping[str, Any]) -> int:
    """Return the seed that a record names in its first line, 1 where it names none.

    Raises: BadInput where it is none that can be used.
    """
    seed = head.get("seed", 1)
    if isinstance(seed, bool) or not isinstance(seed, int) or not 0 <= seed < 1 << 63:
        raise BadInput([Problem(str(path), 1, 1, f"`{seed}` is no seed", _RIGHT)])
    return seed


def _misfits(event: Event, places: ReadingPlaces, faults: Collection[str]) -> Iterator[Said]:
    if event.fault is not None:
        yield from _fault(event.fault, places, faults)
    read = None if event.reading is None else event.reading.read
    lacks_number = read is not None and read.kind in ("number", "below") and read.value is None
    if read is not None and (lacks_number or (read.kind == "word" and read.word is None)):
        yield f"a reading of kind {read.kind} without what was read", _RIGHT
    if event.reading is not None and event.reading.take is not None:
        yield from _take(event.reading.take, places)
        if read is not None:
            yield from _read(read, event.reading.take)
    if event.kind == "reading" and (event.reading is None or event.reading.take is None or event.reading.read is None):
        yield "a reading without its test or without what was read", _RIGHT


def _fault(fault: FaultAt, places: ReadingPlaces, faults: Collection[str]) -> Iterator[Said]:
    if fault.fault not in faults:
        yield f"no fault `{fault.fault}`", _RIGHT
    if (wrong := places.part(fault.part)) is not None:
        yield wrong
    elif fault.at is not None and fault.at not in places.ends(fault.part):
        yield f"`{fault.part}` has no end `{fault.at}`", _RIGHT
    if fault.to is not None and (wrong := places.probe(fault.to)) is not None:
        yield wrong


def _take(take: Take, places: ReadingPlaces) -> Iterator[Said]:
    if take.meter not in METERS or (take.meter == "test_lamp" and take.quantity != "volts"):
        yield f"no instrument `{take.meter}` for {take.quantity}", _RIGHT
    if (take.quantity == "ohms") != (take.when == "isolated") and take.quantity in ("ohms", "amps", "ripple"):
        yield f"{take.quantity} are never read in {take.when}", _RIGHT
    judge = {"lamp": places.lamp, "celsius": places.part_or_lug, "look": places.part_or_lug}.get(
        take.quantity, places.lug if take.quantity in ("tug", "wiggle") else places.part
    )
    pair = QUANTITIES[take.quantity][0] == 2
    for name in take.where:
        if (wrong := places.probe(name) if pair else judge(name)) is not None:
            yield wrong
    if pair and take.where[0] == take.where[1]:
        yield "both places are the same", _RIGHT
    if take.jumper is not None:
        said = [wrong for name in take.jumper if (wrong := places.probe(name)) is not None]
        yield from said
        if not said and (wrong := places.jumper(*take.jumper)) is not None:
            yield wrong
    if take.swap is not None and (wrong := places.part(take.swap)) is not None:
        yield wrong


def _read(read: Read, take: Take) -> Iterator[Said]:
    words = words_for(take.quantity, take.meter)
    if read.word is not None and read.word not in words:
        yield f"`{read.word}` is no word for {take.quantity}", _RIGHT
    if read.kind in ("number", "below") and QUANTITIES[take.quantity][1] is None:
        yield f"{take.quantity} is read as a word, not as a number", _RIGHT

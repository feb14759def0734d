"""The cells of a hand-over record in words: one row a step, for page, terminal and Markdown alike.

Wording only: what is judged was judged before, and what is not known is left empty.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

from diagnose.model.commissioning import Baseline, CommissioningRecord, StepResult
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES
from diagnose.present.picture_notes import kept, read_words
from diagnose.present.walk_words import no_minus_zero, place_words

__all__ = ["NOT_A_CERTIFICATE", "Cells", "cells_of", "counts", "gathered", "joint_words", "ohms_words"]

NOT_A_CERTIFICATE = "This is a record of what was asked, done and read. It is not a certificate."
VERDICTS = ("FAIL", "LOOK", "INVALID", "NOT DONE", "PASS")
#: a unit whose small values are told in thousandths: below how much, and what a thousandth is called
_THOUSANDTHS = {"ohm": (1.0, "milliohm"), "A": (0.1, "mA")}
#: by how a step is judged: the unit of what it is held against, where that is not what the meter shows
_WORKED = {"efficiency": "share", "balance": "A", "over_cable": "K", "torque": "Nm"}
_LIMIT_UNITS = {"output": "share", "torque": "share"}
_MODEL_UNITS = {"drop": "ohm"}


class Cells(NamedTuple):
    """One step in words.

    `judged` are the verdicts against limit and model, `says` is what was found, `why` is why the step is asked,
    `source` is its number in the list of sources, 0 where there is none; `group` is set where it passed by a word, so
    that its row may be told together with others; `steps` is how many steps the row tells of.
    """

    number: str
    title: str
    where: str
    limit: str
    here: str
    read: str
    conditions: str
    time: str
    verdict: str
    judged: str
    says: tuple[str, ...]
    why: str
    makes_valid: str
    source: int
    group: str
    steps: int = 1


def cells_of(record: CommissioningRecord, installation: Installation) -> tuple[tuple[Cells, ...], tuple[str, ...]]:
    """Return the steps in words, and the sources that their numbers mean, from 1."""
    sources = list(dict.fromkeys(row.step.source for row in record.rows if row.step.source))
    several = len({row.meter for row in record.rows if row.meter}) > 1
    shown = []
    for number, row in enumerate(record.rows, 1):
        source = sources.index(row.step.source) + 1 if row.step.source else 0
        shown.append(_cells(number, row, source, record, installation, several))
    return tuple(shown), tuple(sources)


def counts(record: CommissioningRecord) -> str:
    """Return how many steps came out how: `1 FAIL, 0 LOOK, 2 INVALID, 0 NOT DONE, 41 PASS`."""
    found = Counter[str](row.verdict for row in record.rows)
    return ", ".join(f"{found[verdict]} {verdict}" for verdict in VERDICTS)


def _amount(value: float, unit: str, digits: int | None = None) -> str:
    """Return a number as it is said, with its unit; small resistances and currents in thousandths.

    Parameters: `digits`, how many count, for what is a round figure by itself; else as many as a meter shows.

    >>> _amount(0.00123, "ohm"), _amount(0.25, "V"), _amount(13.456, "V"), _amount(0.02, "A"), _amount(-0.0001, "V")
    ('1.23 milliohm', '0.250 V', '13.46 V', '20.0 mA', '0.000 V')
    >>> _amount(0.36, "V", 3), _amount(2431.0, "ohm"), _amount(4.8, "Nm", 3)
    ('0.36 V', '2,430 ohm', '4.8 Nm')
    """
    least, small = _THOUSANDTHS.get(unit, (0.0, unit))
    if 0 < abs(value) < least:
        value, unit = value * 1000, small
    if digits is None and unit != "ohm":
        fine = 3 if abs(value) < 1 else 2
        shown = fine if unit in ("V", "share", "") else 2 if unit == "milliohm" and abs(value) < 10 else 1
        return no_minus_zero(f"{value:.{shown if abs(value) < 100 else 0}f} {unit}".strip())
    value = float(f"{value:.{digits or 3}g}")
    return no_minus_zero(f"{value:,.0f} {unit}" if abs(value) >= 1000 else f"{value:g} {unit}".strip())


def ohms_words(one: Baseline) -> str:
    """Return a resistance with its standard uncertainty, the last digit of both at the same place.

    >>> ohms_words(Baseline("tray_strap", ("tray", "chassis"), 0.000512, 0.000104))
    '0.51 ± 0.10 milliohm'
    """
    low = abs(one.uncertainty) * 1000
    digits = next((n for n in range(4) if low >= 10.0 ** (1 - n)), 4) if low else 3
    return no_minus_zero(f"{one.ohms * 1000:.{digits}f} ± {low:.{digits}f} milliohm")


def joint_words(one: Baseline, installation: Installation) -> str:
    """Return which joint a resistance is of: between which two points, or at which one of a part's own ends."""
    for place, other in (one.between, one.between[::-1]):
        if place == f"{one.part}@{other}":
            return f"{place_words(one.part, installation)}, joint at {place_words(other, installation)}"
    first, second = (place_words(place, installation) for place in one.between)
    return f"{place_words(one.part, installation)}: {first} to {second}"


def gathered(cells: Sequence[Cells]) -> list[Cells]:
    """Return the steps with those that follow each other in one group, and all passed by the same word, in one row."""
    rows = []
    for (group, _), found in groupby(cells, key=lambda one: (one.group, one.read)):
        run = list(found)
        rows += [_run(run)] if group and len(run) > 1 else run
    return rows


def _run(run: Sequence[Cells]) -> Cells:
    """Return one row that tells of several steps: what their titles begin with is said once."""
    titles = [one.title.split() for one in run]
    same = next((n for n, words in enumerate(zip(*titles, strict=False)) if len(set(words)) > 1), 0)
    same -= same > 0 and titles[0][same - 1].lower() == "the"
    rest = "; ".join(" ".join(words[same:]) for words in titles).replace("; The ", "; the ")
    states = dict.fromkeys(one.where.rpartition("; ")[2] for one in run)
    told = " to ".join(dict.fromkeys(one.time for one in (run[0], run[-1]) if one.time))
    return run[0]._replace(
        number=f"{run[0].number}–{run[-1].number}", title=" ".join(titles[0][:same]) or rest,
        where="; ".join([*([rest] if same else []), *states]), read=f"{run[0].read}, each of {len(run)}", time=told,
        steps=len(run),
    )  # fmt: skip


def _cells(
    number: int, row: StepResult, source: int, record: CommissioningRecord, installation: Installation, several: bool
) -> Cells:
    step = row.step
    limit, here = _bounds(row)
    asked = f"answer: {step.wants}" if step.wants and step.judge == "word" else ""
    against = (("limit", row.by_limit), ("model", row.by_model))
    judged = ", ".join(f"{name} {found.verdict}" for name, found in against if found is not None)
    read = row.reading.read if row.reading is not None else None
    by_word = row.verdict == "PASS" and step.judge == "word" and read is not None and read.kind == "word"
    return Cells(
        str(number), step.title, _where(row, installation), kept(limit or asked or "-"), kept(here or "-"),
        _read(row), kept(_conditions(row, several)), row.time.removeprefix(f"{record.date}T"), row.verdict,
        judged if row.verdict not in ("PASS", "NOT DONE") else "", _says(row), _sentence(step.why),
        row.makes_valid if row.verdict == "INVALID" else "", source, step.group if by_word else "",
    )  # fmt: skip


def _bounds(row: StepResult) -> tuple[str, str]:
    """Return the limit and what is expected here, in words, each in the unit that it is held in."""
    step, judged, model = row.step, row.by_limit, row.by_model
    shown = QUANTITIES[step.take.quantity][1] or "" if step.take is not None else ""
    unit = _WORKED.get(step.judge, shown)
    limit = ""
    if judged is not None and (judged.low, judged.high) != (None, None):
        limit = _span(judged.low, judged.high, unit, 3)
    elif step.limit is not None:
        limit = _span(step.limit.low, step.limit.high, _LIMIT_UNITS.get(step.judge, unit), 3)
    here = _span(model.low, model.high, _MODEL_UNITS.get(step.judge, unit)) if model is not None else ""
    return limit, here


def _span(low: float | None, high: float | None, unit: str, digits: int | None = None) -> str:
    """Return bounds in words, the unit said once where both have the same."""
    ends = ["" if end is None else _amount(end, unit, digits) for end in (low, high)]
    if ends[0] and ends[1]:
        first, _, told = ends[0].partition(" ")
        return f"{first if told == ends[1].partition(' ')[2] else ends[0]} to {ends[1]}"
    return f"at least {ends[0]}" if ends[0] else f"up to {ends[1]}" if ends[1] else ""


def _where(row: StepResult, installation: Installation) -> str:
    """Return where the probes went, or are to go, and in which state."""
    places = row.probes or (row.step.take.where if row.step.take is not None else ())
    between = " to ".join(place_words(place, installation) for place in places)
    return "; ".join(text for text in (between, row.step.state.replace("_", " ")) if text)


def _read(row: StepResult) -> str:
    """Return what was read as typed, with the unit where none was typed."""
    read, step = row.reading.read if row.reading is not None else None, row.step
    if read is None:
        return "worked out" if step.take is None and not step.question else "-"
    return "not taken" if read.kind == "skipped" else read_words(read, step.take)


def _conditions(row: StepResult, several: bool) -> str:
    """Return what the reading was taken at: current, temperature, and the meter where there were several."""
    told = [_amount(row.current, "A")] if row.current is not None else []
    told += [no_minus_zero(f"{row.temperature:.0f} degC")] if row.temperature is not None else []
    return ", ".join([*told, *([row.meter] if several and row.meter else [])])


def _says(row: StepResult) -> tuple[str, ...]:
    """Return what was found; where the step is not passed, against what, and the ground of the limit."""
    said, step, passed = row.says, row.step, row.verdict == "PASS"
    if passed and step.judge == "word":
        return ()  # a good word needs no more words
    if passed and row.by_model is not None:
        said = said.replace(row.by_model.says, "").strip("; ")  # what was expected stands beside it in its own column
    found = [said]
    for against, judged in (("Against the limit", row.by_limit), ("Expected here", row.by_model)):
        if judged is not None and judged.verdict != "PASS" and judged.says not in row.says:
            found.append(f"{against}: {judged.says}")
    if step.limit is not None and step.limit.why and row.verdict in ("LOOK", "FAIL"):
        found.append(f"Limit: {step.limit.why}")
    return tuple(dict.fromkeys(_sentence(text) for text in found if text))


def _sentence(text: str) -> str:
    """Return text with a capital at its head and a stop at its end, and no sign before a zero."""
    text = no_minus_zero(text.strip())
    return f"{text[:1].upper()}{text[1:]}{'.' if text and text[-1] not in '.!?' else ''}"

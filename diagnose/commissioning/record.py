"""The hand-over record, the baseline in it, and the list for some weeks later, from the results of the steps.

It gathers and counts; it judges nothing and shows nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from diagnose.basics.quantities import Span
from diagnose.commissioning.answers import meter_error
from diagnose.commissioning.drift import resistance
from diagnose.model.commissioning import Baseline, CommissioningRecord, StepResult
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation, Known, name_of
from diagnose.model.rules import RuleBase

__all__ = ["Signed", "baseline_of", "known_of", "record_of"]


#: steps with the same open point that are named one by one
NAMED = 8


class Signed(NamedTuple):
    """What people add to a record: name and date as typed, instruments, and the versions and hashes of what was used.
    """

    name: str
    date: str
    instruments: tuple[str, ...]
    version: str
    rules_hash: str
    installation_hash: str


def baseline_of(results: Iterable[StepResult], tables: Tables) -> tuple[Baseline, ...]:
    """Return the resistance of every joint and part whose drop was read with enough current.

    Its uncertainty is one standard deviation: half of what the meters may be off.
    """
    found = []
    for result in results:
        read = result.reading.read if result.reading is not None else None
        drop = result.step.judge == "drop" and result.verdict != "INVALID" and read is not None
        if drop and read is not None and read.value is not None and result.current and result.step.take is not None:
            current = abs(result.current)
            off = meter_error("volts", read.value, tables) / 2.0, meter_error("amps", current, tables) / 2.0
            ohms, uncertainty = resistance(read.value, off[0], current, off[1])
            between = result.step.take.where
            found.append(Baseline(result.step.judges[0], (between[0], between[1]), ohms, uncertainty))
    return tuple(found)


def known_of(baseline: Iterable[Baseline], days: float) -> dict[str, Known]:
    """Return a baseline as what is known of an installation, by `PART@POINT` or `PART`.

    Parameters: `days`, how long ago it was read. What is below a millionth of an ohm tells nothing and is left out.

    >>> strap = Baseline("tray_strap", ("tray", "chassis"), 0.0005, 0.0001)
    >>> list(known_of([strap, strap._replace(between=("tray_strap@tray", "tray"))], 400))
    ['tray_strap', 'tray_strap@tray']
    """
    found = {}
    for one in baseline:
        own = next((place for place in one.between if place.partition("@")[0] == one.part and "@" in place), one.part)
        if one.ohms > 1e-6:
            spans = [Span(value, value) for value in (one.ohms, max(one.uncertainty, 1e-6), float(days))]
            found[own] = Known(resistance=spans[0], uncertainty=spans[1], age=spans[2])
    return found


def _lines(installation: Installation) -> tuple[tuple[str, str], ...]:
    """Return what is fitted, a line a part that is a source, a charger, a battery or a load."""
    lines: list[tuple[str, str]] = [("Installation", installation.title)]
    kinds = ("battery", "alternator", "charger", "supply", "panel", "load")
    for name, part in installation.parts.items():
        if part.kind in kinds:
            told: list[str] = [part.kind]
            for key in ("chemistry", "regulation", "profile"):
                if value := getattr(part, key, None):
                    told.append(str(value))
            data = part.model_dump(mode="json", exclude_none=True)
            told += [f"{key.replace('_', ' ')} {data[key]}" for key in ("capacity", "rating", "voltage", "power")
                     if data.get(key)]  # fmt: skip
            lines.append((name_of(name, installation), ", ".join(told)))
    return tuple(lines)


def _named(titles: Sequence[str]) -> str:
    """Return titles in a row, the first few by name and the rest counted."""
    rest = f"; and {len(titles) - NAMED} more" if len(titles) > NAMED else ""
    return "; ".join(titles[:NAMED]) + rest


def _open(results: Sequence[StepResult]) -> tuple[str, ...]:
    """Return the open points: what failed, what could not be judged, what deserves a look, what was not done."""
    says: Mapping[str, str] = {"FAIL": "failed", "INVALID": "could not be judged", "LOOK": "deserves a look"}
    alike: dict[tuple[str, str, str], list[str]] = {}
    for verdict in says:
        for r in results:
            if r.verdict == verdict:
                alike.setdefault((verdict, r.says, r.makes_valid), []).append(r.step.title)
    found = [f"{_named(titles)}: {says[verdict]}, {why}" + (f". {valid}" if valid else "")
             for (verdict, why, valid), titles in alike.items()]  # fmt: skip
    left = [r.step.title for r in results if r.verdict == "NOT DONE"]
    if left:
        found.append(f"Not done ({len(left)} of {len(results)}): {_named(left)}")
    return tuple(found)


def record_of(
    installation: Installation, results: Sequence[StepResult], tables: Tables, base: RuleBase, signed: Signed
) -> CommissioningRecord:
    """Return the hand-over record: a record, not a certificate."""
    used = {name for result in results for name in result.step.cautions}
    return CommissioningRecord(
        installation.title, _lines(installation), signed.instruments, tuple(results),
        baseline_of(results, tables), _open(results), tuple(c.says for c in base.cautions.values() if c.id in used),
        tuple(dict.fromkeys(r.step.recheck for r in results if r.step.recheck)), signed.name, signed.date,
        signed.version, signed.rules_hash, signed.installation_hash,
    )  # fmt: skip

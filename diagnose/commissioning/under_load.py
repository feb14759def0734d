"""Judging what grows with the current or hangs on other readings: drops, a charger's output, absorption, balances.

A drop is judged at the current that flowed and at full rating; too little current is INVALID and never a pass.
"""

from __future__ import annotations

from collections.abc import Callable
from math import hypot, inf, isfinite
from typing import Any

import numpy as np

from diagnose.commissioning.answers import Answer, meter_error
from diagnose.commissioning.bands import FEWEST, band_of, current_take
from diagnose.commissioning.bench import Bench, against_limit, against_model, figure_words, invalid, result_of, unsteady
from diagnose.commissioning.drift import resistance
from diagnose.commissioning.sequence import Planned, number_of
from diagnose.commissioning.verdicts import at_full_current
from diagnose.model.commissioning import Judgement, StepResult
from diagnose.model.reading import Take

__all__ = ["absorption", "derived", "drop", "output"]

#: what a charger may give less than its absorption voltage and still be in it [V], and the share of its rating below
#: which the charge is nearly over
NEAR, TAIL = 0.2, 0.25
#: how far a part's current may vary against another one that is read in its place, as a share
IN_SERIES = 0.15
TOO_LITTLE = "too little current flowed to tell"


def drop(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Judge a drop at the current that flowed, extrapolated to full rating, and its resistance against the model."""
    step, read = planned.step, answer.read
    assert step.take is not None
    if read.kind == "unsteady":
        return unsteady(planned, answer, bench)
    if read.value is None:
        return invalid(planned, answer, "no number was read")
    part = current_take(planned)
    found = _current(planned, answer, bench, part)
    if found is None:
        return invalid(planned, answer, "no current was read with it: a drop without its current proves nothing")
    current, spread = found
    full = bench.model.full_current(part)
    share = number_of(planned.rule.least_share, bench.tables)
    if abs(current) < (share[0] if share else 0.3) * full:
        says = f"{TOO_LITTLE}: {current:.1f} A of {full:.1f} A"
        return invalid(planned, answer, says, current)
    error = meter_error("volts", read.value, bench.tables) if answer.within is None else answer.within
    at_full, off = at_full_current(abs(read.value), error, current, spread, full)
    limit = against_limit(planned, at_full, off, "V")
    if limit is not None:
        says = f"{figure_words(at_full, 'V')} within {figure_words(off, 'V')} at {full:.0f} A, {limit.says}"
        limit = limit._replace(says=says)
    ohms, slack = resistance(read.value, error, current, spread)
    ohms = ohms if read.value >= 0 else -ohms
    model = against_model(ohms, bench.model.ratio(step.take, part), "ohm", slack)
    if model is not None and model.verdict != "PASS":
        watts = abs(ohms) * full**2
        model = model._replace(says=f"{figure_words(ohms, 'ohm')}, {watts:.1f} W at {full:.0f} A; {model.says}")
    return result_of(planned, answer, limit, model, current=current)


def _current(planned: Planned, answer: Answer, bench: Bench, part: Take) -> tuple[float, float] | None:
    """Return the current [A] through a part and its error: told with the reading, else from the step that tells most.
    """
    if answer.current is not None:
        return abs(answer.current), meter_error("amps", answer.current, bench.tables)
    best: tuple[float, float] | None = None
    for need in planned.step.needs:
        read, take = bench.number(need), bench.planned[need].step.take
        if read is None or take is None:
            continue
        share = bench.model.share(part, take)
        if share is None:
            continue
        spread = (share.high - share.low) / 2.0
        current = abs(share.middle * read)
        error = hypot(share.middle * bench.error(need), spread * read)
        if spread < IN_SERIES * abs(share.middle) and (best is None or error < best[1]):
            best = current, error
    return best


def output(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Judge a charger's output at the level that the state of charge allows."""
    take, amps = planned.step.take, answer.read.value
    assert take is not None
    if amps is None:
        return invalid(planned, answer, "no number was read")
    rating, absorption = float(planned.subject["rating"]), float(planned.subject["volts"])
    share = planned.step.limit.low if planned.step.limit is not None else None
    volts = next((v for need in planned.step.needs if (v := bench.number(need)) is not None), None)
    model = against_model(amps, bench.model.band(take), "A")
    wanted = (share or 0.9) * min(rating, bench.model.full_current(take))
    error = meter_error("amps", amps, bench.tables) if answer.within is None else answer.within
    if amps + error >= wanted:
        return result_of(planned, answer, Judgement("PASS", wanted, None, "it gives its rating"), model)
    if volts is None or volts >= absorption - NEAR:
        told = "the battery is nearly full" if volts is not None else "without the volts at its output it tells little"
        return result_of(planned, answer, Judgement("INVALID", wanted, None, told), model)
    model = _like_this(take, planned, volts, bench, amps)
    return result_of(planned, answer, None, model, says="" if model is not None else "too few vehicles are like this")


def _like_this(take: Take, planned: Planned, volts: float, bench: Bench, amps: float) -> Judgement | None:
    """Return the judgement on an output current against those vehicles whose output volts are as read."""
    other = bench.planned[planned.step.needs[0]].step.take
    assert other is not None
    shown = bench.model.values(other)
    like = np.abs(shown - volts) <= np.sort(np.abs(shown - volts))[FEWEST]
    return against_model(amps, band_of(bench.model.values(take)[like], bench.model.z), "A")


def absorption(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Judge the absorption voltage, once the output has fallen far below its rating."""
    step, volts = planned.step, answer.read.value
    assert step.take is not None
    amps = next((v for need in step.needs if (v := bench.number(need)) is not None), None)
    if answer.current is not None:
        amps = answer.current
    if volts is None:
        return invalid(planned, answer, "no number was read")
    rating, target = float(planned.subject["rating"]), float(planned.subject["volts"])
    if amps is None or abs(amps) > TAIL * rating:
        told = f"{amps:.1f} A still flow: absorption is not over" if amps is not None else "no output current was read"
        return invalid(planned, answer, told)
    error = meter_error("volts", volts, bench.tables) if answer.within is None else answer.within
    limit = against_limit(planned, volts - target, error, "V")
    return result_of(planned, answer, limit, None)


def derived(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Judge what is worked out from the readings of other steps."""
    step = planned.step
    takes = [bench.planned[need].step.take for need in step.needs]
    read = [bench.number(need) for need in step.needs]
    if any(value is None for value in read) or any(take is None for take in takes):
        return StepResult(step, "NOT DONE", says="the readings that it is worked out from are not all there")
    numbers = [float(value) for value in read if value is not None]
    worked, unit = _WORKED[step.judge]
    value = worked(*numbers)
    if not isfinite(value):
        return invalid(planned, answer, TOO_LITTLE)
    errors = [bench.error(need) for need in step.needs]
    moved = [worked(*(n + e * (k == j) for j, (n, e) in enumerate(zip(numbers, errors, strict=True)))) - value
             for k in range(len(numbers))]  # fmt: skip
    # the model's readings have these errors too, so the band needs no widening; a thermometer's error is common to both
    error = float(hypot(*moved)) if step.judge != "over_cable" else 3.0
    with np.errstate(divide="ignore", invalid="ignore"):
        drawn = np.asarray(worked(*(bench.model.values(take) for take in takes if take is not None)))
    usable = drawn[np.isfinite(drawn)]
    if step.judge == "efficiency":
        if error > 0.2:
            return invalid(planned, answer, f"{TOO_LITTLE}: {value:.2f} within {error:.2f}")
        flows = np.abs(bench.model.values(takes[1])) > 0.5 * abs(numbers[1]) if takes[1] is not None else usable > 0
        usable = drawn[flows & np.isfinite(drawn)]
    model = against_model(value, band_of(usable, bench.model.z), unit) if usable.size >= FEWEST else None
    result = result_of(planned, answer, against_limit(planned, value, error, unit), model)
    says = f"{figure_words(value, unit)} within {figure_words(error, unit)}; {result.says}"
    return result._replace(says=says, reading=None)


def _efficiency(input_volts: Any, input_amps: Any, output_volts: Any, output_amps: Any) -> Any:
    """Return power out over power in, of numbers or arrays; infinite where nothing goes in."""
    power = np.asarray(input_volts * input_amps, dtype=float)
    share = np.divide(output_volts * output_amps, power, out=np.full_like(power, inf), where=power > 0)
    return share if share.ndim else float(share)


#: what is worked out from the readings of other steps, with its unit
_WORKED: dict[str, tuple[Callable[..., float], str]] = {
    "efficiency": (_efficiency, "share"),
    "balance": (lambda out, into: out - into, "A"),
    "over_cable": (lambda joint, cable: joint - cable, "K"),
}

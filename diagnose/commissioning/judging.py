"""The verdict on each step: against the published limit, and against what this installation's own model expects.

One function a way of judging, named by the rule; those that hang on a current stand in `under_load`.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf, isfinite, log10

import numpy as np

from diagnose.commissioning.answers import Answer, meter_error, torque_of
from diagnose.commissioning.bench import SELDOM, Bench, against_limit, against_model, invalid, result_of, unsteady
from diagnose.commissioning.expecting import ohms_words
from diagnose.commissioning.sequence import Planned
from diagnose.commissioning.under_load import absorption, derived, drop, output
from diagnose.commissioning.verdicts import by_band, by_limit
from diagnose.model.commissioning import CommissioningStep, Judgement, StepResult, StepVerdict
from diagnose.model.reading import QUANTITIES, Read
from diagnose.prediction.instruments import OVER_RANGE

__all__ = ["judged"]

#: volts that no judgement against the model hangs on
WRITTEN = 0.01
#: ohms below which a meter's leads are all that it shows
LEAST_OHMS = 0.05
_NOTHING = Read("skipped", "")


def judged(planned: Planned, bench: Bench) -> StepResult:
    """Return what has become of a step, NOT DONE where nothing was answered or it was skipped."""
    step = planned.step
    answer = bench.answers.get(step.id)
    if step.take is None and not step.question:
        return _JUDGES[step.judge](planned, Answer("", _NOTHING), bench)
    if answer is None or answer.read.kind == "skipped":
        return StepResult(step, "NOT DONE", by_model=_bounds(step, bench), says="skipped" if answer is not None else "")
    return _JUDGES[step.judge](planned, answer, bench)


def _bounds(step: CommissioningStep, bench: Bench) -> Judgement | None:
    """Return what a step that was not done should have read, so that the record shows it beside the blank."""
    if step.take is None or step.judge != "value" or step.take.quantity == "ohms":
        return None
    band = bench.model.band(step.take)
    return None if band is None else Judgement("NOT DONE", band.low, band.high, "")


def _word(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Judge a word: yes or no to a question, what eyes and hands find, a lamp."""
    step, word = planned.step, answer.read.word or answer.read.kind
    if word == step.wants:
        return result_of(planned, answer, Judgement("PASS", None, None, "as it should be"), None)
    if step.take is None:
        return result_of(planned, answer, Judgement("FAIL", None, None, f"it should be {step.wants}"), None)
    chance = bench.model.chances(step.take).get(word, 0.0)
    verdict: StepVerdict = "FAIL" if chance < SELDOM else "LOOK"
    slip = f"; look once more, since {chance:.1%} of sound ones are called so" if verdict == "LOOK" else ""
    says = f"{word} instead of {step.wants}{slip}"
    return result_of(planned, answer, None, Judgement(verdict, None, None, says))


def _value(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Judge a number against its limit and the band of the model."""
    take, read = planned.step.take, answer.read
    assert take is not None
    unit = QUANTITIES[take.quantity][1] or ""
    if read.kind == "unsteady":
        return unsteady(planned, answer, bench)
    if read.kind == "over_range" and take.quantity != "ohms":
        return invalid(planned, answer, "OL: the range is too small, or a probe hangs free")
    value = inf if read.kind == "over_range" or read.value is None else read.value
    error = meter_error(take.quantity, value, bench.tables) if answer.within is None else answer.within
    limit = against_limit(planned, value, error if isfinite(value) else 0.0, unit)
    band = bench.model.band(take)
    if take.quantity != "ohms":
        # near 0 V the band is narrower than what two people would write down
        slack = WRITTEN if take.quantity == "volts" else 0.0
        return result_of(planned, answer, limit, against_model(value, band, unit, slack))
    scale = OVER_RANGE if not isfinite(value) else log10(max(value, LEAST_OHMS))
    if band is None:
        return result_of(planned, answer, limit, None)
    verdict = by_band(scale, (band.low, band.high), (band.least, band.most))
    low, high = (OVER_RANGE if b > OVER_RANGE - 0.5 else 10.0**b for b in (band.low, band.high))
    wide = " to ".join(dict.fromkeys("OL" if b == OVER_RANGE else ohms_words(b) for b in (low, high)))
    model = Judgement(verdict, low if low != OVER_RANGE else None, high if high != OVER_RANGE else None,
                      f"expected here {wide}")  # fmt: skip
    return result_of(planned, answer, limit, model)


def _torque(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Judge a torque without the drag of its nut against the table for its stud."""
    told = torque_of(answer.read.text)
    if told is None:
        return invalid(planned, answer, "no torque was told")
    sizes, figures = bench.tables.curve("torque", "brass_stud")
    if not sizes[0] <= told.stud <= sizes[-1]:
        return invalid(planned, answer, f"no figure for a stud of {told.stud:g} mm here: the maker's holds")
    wanted = float(np.interp(told.stud, sizes, figures))
    limit = planned.step.limit
    low, high = (limit.low or 0.8, limit.high or 1.25) if limit is not None else (0.8, 1.25)
    left = told.set - told.drag
    bounds = f"{low * wanted:.1f} to {high * wanted:.1f}"
    says = f"{left:.1f} N.m without the drag, {bounds} wanted unless the maker says else"
    verdict = by_limit(left, 0.0, low * wanted, high * wanted)
    return result_of(planned, answer, Judgement(verdict, low * wanted, high * wanted, says), None)


_JUDGES: dict[str, Callable[[Planned, Answer, Bench], StepResult]] = {
    "word": _word, "value": _value, "drop": drop, "output": output, "absorption": absorption, "torque": _torque,
    "efficiency": derived, "balance": derived, "over_cable": derived,
}  # fmt: skip

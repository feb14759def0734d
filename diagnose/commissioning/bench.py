"""What every way of judging needs: the steps, the answers and the model, and how a judgement is put into words.

Judges a number against a limit and against a band; which numbers those are is not known here.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import NamedTuple

from diagnose.commissioning.answers import Answer, meter_error
from diagnose.commissioning.bands import Band, Model
from diagnose.commissioning.sequence import Planned
from diagnose.commissioning.verdicts import by_band, by_limit, worst
from diagnose.model.commissioning import Judgement, StepResult, StepVerdict
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Reading

__all__ = ["SELDOM", "Bench", "against_limit", "against_model", "figure_words", "invalid", "result_of", "unsteady"]

#: chance below which a word on a sound part is beyond what the whole sequence allows
SELDOM = 0.001


class Bench(NamedTuple):
    """What judging needs: the installation, its figures and model, the steps and the latest answers by id."""

    installation: Installation
    tables: Tables
    model: Model
    planned: Mapping[str, Planned]
    answers: Mapping[str, Answer]

    def number(self, step: str) -> float | None:
        """Return the number that was read at a step, or None."""
        answer = self.answers.get(step)
        return answer.read.value if answer is not None and answer.read.kind in ("number", "below") else None

    def error(self, step: str) -> float:
        """Return how far the number read at a step may be off."""
        answer, take = self.answers[step], self.planned[step].step.take
        assert take is not None
        return answer.within if answer.within is not None else meter_error(
            take.quantity, answer.read.value or 0.0, self.tables)  # fmt: skip


def result_of(
    planned: Planned, answer: Answer, limit: Judgement | None, model: Judgement | None, says: str = "",
    current: float | None = None,
) -> StepResult:
    """Return a result: the worse of the two judgements stands."""
    step = planned.step
    both = [j.verdict for j in (limit, model) if j is not None]
    verdict: StepVerdict = "NOT DONE" if not both else both[0] if len(both) == 1 else worst(both[0], both[1])
    telling = says or "; ".join(j.says for j in (limit, model) if j is not None and j.verdict == verdict)
    reading = Reading(step.take, answer.read) if step.take is not None else Reading(None, answer.read)
    return StepResult(
        step, verdict, limit, model, reading, current=answer.current if current is None else current,
        probes=step.take.where if step.take is not None else (), says=telling,
        makes_valid=step.makes_valid if verdict == "INVALID" else "",
    )  # fmt: skip


def invalid(planned: Planned, answer: Answer, says: str, current: float | None = None) -> StepResult:
    """Return a result that cannot be judged, with what would make it valid."""
    return result_of(planned, answer, Judgement("INVALID", None, None, says), None, current=current)


def against_limit(planned: Planned, value: float, error: float, unit: str) -> Judgement | None:
    """Return the judgement against the published limit of a step, None where it has none."""
    limit = planned.step.limit
    if limit is None:
        return None
    verdict = by_limit(value, error, limit.low, limit.high) if isfinite(value) else _endless(limit.high)
    off = f"the meter may be off by {figure_words(error, unit)}, too much for this limit"
    said = {"INVALID": off, "PASS": "within the limit"}
    return Judgement(verdict, limit.low, limit.high, said.get(verdict, f"outside: {limit.why}"))


def _endless(high: float | None) -> StepVerdict:
    return "PASS" if high is None else "FAIL"


def against_model(value: float, band: Band | None, unit: str, slack: float = 0.0) -> Judgement | None:
    """Return the judgement against a band; `slack` widens both bounds by what the meter adds."""
    if band is None:
        return None
    verdict = by_band(value, (band.low - slack, band.high + slack), (band.least - slack, band.most + slack))
    wide = f"{figure_words(band.low, unit)} to {figure_words(band.high, unit)}"
    said = {"PASS": f"as expected here, {wide}", "LOOK": f"unusual here: 95 of 100 sound ones read {wide}"}
    return Judgement(verdict, band.low, band.high, said.get(verdict, f"no sound installation like this: {wide}"))


def figure_words(value: float, unit: str) -> str:
    """Return a figure with its unit, small resistances in mohm.

    >>> figure_words(0.0012, "ohm"), figure_words(-0.0004, "V"), figure_words(13.926, "V")
    ('1.20 mohm', '0.000 V', '13.93 V')
    """
    if unit == "ohm" and abs(value) < 0.5:
        return f"{1000 * value:.2f} mohm"
    digits = 3 if unit == "V" and abs(value) < 1 else 2
    text = f"{value:.{digits}f}"
    return f"{text.removeprefix('-') if float(text) == 0 else text} {unit}".strip()


def unsteady(planned: Planned, answer: Answer, bench: Bench) -> StepResult:
    """Return the judgement on a reading that comes and goes."""
    assert planned.step.take is not None
    verdict: StepVerdict = "FAIL" if bench.model.unsteady(planned.step.take) < SELDOM else "LOOK"
    says = "it comes and goes: a loose joint, or a charger that hunts"
    return result_of(planned, answer, None, Judgement(verdict, None, None, says))

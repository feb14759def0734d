"""What is left after repairs.

The readings before a repair are those of the fault it mended with whatever is left, the readings after it those of what
is left alone; or the repair was in vain, and nothing has changed. A repair mends whatever was wrong at its place. Of
several repairs each may have been in vain, so every course that they may have taken is weighed, except what the
readings before the last repair had ruled out by then.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.basics.lately import kept
from diagnose.circuit.elimination import Array
from diagnose.inference.posterior import Belief, shares
from diagnose.inference.two_faults import Mended, TwoFaults, known
from diagnose.inference.weighing import Period, weigh
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Reading, since_repair
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.sights import Sights

__all__ = ["INSISTED", "SECOND_AFTER", "AfterRepairs", "in_vain", "mended_numbers"]

#: chance of a further fault beside one that has been found and mended, and where people say that it still is not right;
#: chance that a repair does not cure (no published figures: judgement)
SECOND_AFTER, INSISTED, NOT_CURED = 0.4, 0.95, 0.05
#: log of the chance of a course, behind the likeliest before a repair, from which on it is not followed, and the most
#: that are
RULED_OUT, FOLLOWED = 9.0, 3
#: log of the chance of a course, behind another, from which on it is known roughly only
FAR_BEHIND = 8.0
#: what may have been wrong at a mended place: so many faults at most, each with that share of the belief in the place
SAME_PLACE, LIKELY = 3, 0.05
#: what was left of the courses is kept for so many sets of readings
KEPT = 16


class _Weighed(NamedTuple):
    """A course with the belief under it: the logs of the chances of the course and of each hypothesis (h,), and of an
    unlisted cause, all with the readings.
    """

    course: Mended
    belief: Belief
    listed: Array
    unlisted: float

    @property
    def chance(self) -> float:
        """Return the log of the chance of the course and the readings, whatever is left."""
        return float(np.logaddexp.reduce([*self.listed, self.unlisted]))


class _Carried(NamedTuple):
    """What is carried on from before a repair: the courses that are still possible, likeliest first, and the chance of
    each hypothesis (h,) whichever was taken.
    """

    courses: tuple[Mended, ...]
    chances: Array


class AfterRepairs:
    """Weighs what is wrong now on the vehicles of one engine."""

    def __init__(self, two: TwoFaults, now: Period, strata: NDArray[np.intp], sights: Sights) -> None:
        """Prepare; `two` has the vehicles with faults that were there, `now` those without; `strata` (hypotheses,
        vehicles).
        """
        self._two, self._now, self._strata, self._sights = two, now, strata, sights
        self._left: dict[tuple[object, ...], _Carried] = {}

    def believe(self, prior: Array, readings: Sequence[Reading], second: float = SECOND_AFTER) -> Belief:
        """Return the belief in what is wrong now, with what the repairs mended on the likeliest course.

        Parameters: `prior` (hypotheses,), before any reading; `readings`, with the repairs among them; `second`, chance
        of a further fault beside those that were mended.
        """
        mended = self._mended(readings)
        if not known(mended):
            plain = weigh(prior, readings, [self._now] * (len(mended) + 1), self._strata, self._sights)
            kept(self._left, _key(prior, readings), KEPT, lambda: _Carried((mended,), plain.posterior))
            return plain._replace(mended=mended)
        found = self._weighed(prior, readings, second)
        # A further repair goes on from here: what was read before it is not weighed again.
        kept(self._left, _key(prior, readings), KEPT, lambda: _carried(found))
        listed = np.logaddexp.reduce([one.listed for one in found], axis=0)
        posterior, unlisted = shares(listed, float(np.logaddexp.reduce([one.unlisted for one in found])))
        # A course that is far behind another is known roughly only, on few vehicles; the likeliest never is.
        leading = max(found, key=lambda one: one.chance)
        return leading.belief._replace(posterior=posterior, unlisted=unlisted, mended=leading.course)

    def _mended(self, readings: Sequence[Reading]) -> Mended:
        return mended_numbers(readings, self._two.hypotheses)

    def _weighed(self, prior: Array, readings: Sequence[Reading], second: float = SECOND_AFTER) -> list[_Weighed]:
        """Return all courses that the repairs may have taken."""
        found: list[_Weighed] = []
        best = -np.inf
        for course in self._courses(prior, readings):
            found.append(self._one(course, prior, readings, second, best))
            best = max(best, found[-1].chance)
        return found

    def _courses(self, prior: Array, readings: Sequence[Reading]) -> list[Mended]:
        """Return the courses that go on from those left before the last repair, which was needed or in vain."""
        mended = self._mended(readings)
        if not known(mended):
            return [mended]
        before = readings[: since_repair(readings) - 1]
        left = kept(self._left, _key(prior, before), KEPT, lambda: self._carried_from(prior, before))
        # What was mended twice was mended the second time: the first was in vain, or it broke again.
        needed: list[Mended] = [
            (*course, number) for course in left.courses for number in self._at_place(mended[-1], left.chances)
            if self._place(number) not in {self._place(n) for n in known(course)}
        ]  # fmt: skip
        return list(dict.fromkeys([*needed, *((*course, None) for course in left.courses)]))

    def _carried_from(self, prior: Array, readings: Sequence[Reading]) -> _Carried:
        """Return what is carried on from the readings before a repair."""
        mended = self._mended(readings)
        if known(mended):
            return _carried(self._weighed(prior, readings))
        return _Carried((mended,), self.believe(prior, readings).posterior)

    def _at_place(self, number: int | None, chances: Array) -> list[int]:
        """Return what a repair may have mended: what it was for, and what else is likely to have been wrong there."""
        if number is None:
            return []
        there = self._numbers_at(self._place(number))
        least = LIKELY * float(chances[there].sum())
        likely = sorted((n for n in there if chances[n] > least and n != number), key=lambda n: -chances[n])
        return [number, *likely[: SAME_PLACE - 1]]

    def _numbers_at(self, place: str) -> list[int]:
        """Return the numbers of all hypotheses of one place."""
        return [n for n, hypothesis in enumerate(self._two.hypotheses) if hypothesis.place == place]

    def _place(self, number: int) -> str:
        return self._two.hypotheses[number].place

    def _one(self, course: Mended, prior: Array, readings: Sequence[Reading], second: float, best: float) -> _Weighed:
        """Weigh one course; `best`, the log of the chance of another."""
        real = known(course)
        vain = [(at, n) for at, (n, was) in enumerate(zip(self._mended(readings), course, strict=True)) if was is None]
        # What was mended later was there still after a repair of its place in vain, which is rare.
        later = [{self._place(n) for n in known(course[at:])} for at in range(len(course))]
        uncured = sum(n is not None and self._place(n) in later[at] for at, n in vain)
        held = float(np.log(np.maximum(prior[list(real)], 1e-300)).sum()) + uncured * float(np.log(NOT_CURED))
        now = self._two.prior(prior, real, second) if real else prior
        sizes = self._two.mended_sizes(prior, readings, course, self._strata, self._sights)
        there = [known(course[e:]) for e in range(len(course) + 1)]
        periods = [self._two.period(one, sizes) if one else self._now for one in there]
        left = now.copy()
        for _, number in vain:
            if number is not None:
                left[self._numbers_at(self._place(number))] *= NOT_CURED

        def weighed(belief: Belief) -> _Weighed:
            with np.errstate(divide="ignore"):
                listed = held + np.log(left) + belief.fit.log_likelihood
                unlisted = held + belief.log_evidence + np.log(belief.unlisted)
            return _Weighed(course, belief, listed, float(unlisted))

        def far_behind(rough: Belief) -> bool:
            return weighed(rough).chance < best - FAR_BEHIND

        return weighed(weigh(now, readings, periods, self._strata, self._sights, far_behind))


def _key(prior: Array, readings: Sequence[Reading]) -> tuple[object, ...]:
    """Return what the courses left after some readings hang on."""
    return prior.tobytes(), tuple(readings)


def _carried(found: Sequence[_Weighed]) -> _Carried:
    """Return what is carried on from courses that were weighed."""
    best = sorted(found, key=lambda one: -one.chance)[:FOLLOWED]
    courses = tuple(one.course for one in best if one.chance >= best[0].chance - RULED_OUT)
    listed = np.logaddexp.reduce([one.listed for one in found], axis=0)
    return _Carried(courses, np.exp(listed - listed.max()))


def mended_numbers(readings: Sequence[Reading], hypotheses: Sequence[Hypothesis]) -> Mended:
    """Return, for each repair among the readings, the number of the hypothesis it mended, None for one not known."""

    def number(mended: FaultAt) -> int | None:
        same = [n for n, h in enumerate(hypotheses) if h.fault is not None and h.fault[:4] == mended[:4]]
        near = [n for n, h in enumerate(hypotheses) if h.fault is not None and h.fault[:3] == mended[:3]]
        return next(iter(same + near), None)

    return tuple(number(r.repaired) for r in readings if r.repaired is not None)


def in_vain(belief: Belief, readings: Sequence[Reading], hypotheses: Sequence[Hypothesis]) -> tuple[int, ...]:
    """Return which repairs, numbered from 0, mended nothing on the likeliest course; of a fault that is not known it
    cannot be told.
    """
    told = zip(mended_numbers(readings, hypotheses), belief.mended, strict=True)
    return tuple(k for k, (number, was) in enumerate(told) if number is not None and was is None)

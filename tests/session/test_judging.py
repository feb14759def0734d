"""When a repair counts as proved although tests are left, judged on rankings made by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from diagnose.model.expected import Expected
from diagnose.model.ranking import NextTest, Ranking
from diagnose.model.reading import Take
from diagnose.session.facts import Check, Facts
from diagnose.session.judging import CONDITIONS, Judged

TAKE, BESIDE = (Take("volts", (point, "chassis"), "at_rest") for point in ("a", "b"))
CHECKS = (Check(Expected(TAKE, 0.0, 0.0, 0.1, "V", None)), Check(Expected(BESIDE, 0.0, 0.0, 0.1, "V", None), True))
LEFT = NextTest(TAKE, 1.0, 0.1, (), "", ())


@pytest.mark.parametrize(
    ("no_fault", "failed", "proved"), [(0.99, (), True), (0.5, (), False), (0.99, (BESIDE,), False)]
)
def test_with_tests_left_a_repair_is_proved_where_it_is_nearly_sure_that_nothing_is_wrong(
    no_fault: float, failed: tuple[Take, ...], proved: bool
) -> None:
    ranking = Ranking(3, (), no_fault, (), 0.0, (), (LEFT,), None)
    facts = Facts(checks=CHECKS, checked=(TAKE, BESIDE), failed=failed, asked=5)
    judged = Judged(facts, None, SimpleNamespace(ranking=lambda _: ranking))  # type: ignore[arg-type]
    assert CONDITIONS["every repair is proved"](judged) == proved

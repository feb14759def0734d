"""The order of tests by bits a minute, by hand, where a change of state must be paid for."""

from __future__ import annotations

from diagnose.inference.visits import Offered, by_worth
from diagnose.model.reading import Take


def offered(name: str, bits: float, change: float, alone: float = 1.0) -> Offered:
    return Offered(Take("volts", (name, "b"), "engine_running" if change else "at_rest"), bits, change + alone, alone)


def names(*tests: Offered) -> list[str]:
    return [one.take.where[0] for one in by_worth(tests)]


def test_here_the_order_is_that_of_bits_a_minute() -> None:
    tests = [offered("low", 0.3, 0.0), offered("high", 0.9, 0.0), offered("long", 1.2, 0.0, 4.0)]
    assert names(*tests) == ["high", "low", "long"]


def test_a_visit_is_worth_its_best_test_with_the_change_whatever_stands_first_in_it() -> None:
    # 0.8 bits for two minutes are 0.4 a minute (with the other, at 0.7 of its worth: 0.94 / 3): after 0.5 here
    visit = [offered("weak", 0.2, 1.0), offered("strong", 0.8, 1.0)]
    for order in (visit, visit[::-1]):
        assert names(*order, offered("here", 0.5, 0.0)) == ["here", "strong", "weak"]
        assert names(*order, offered("here", 0.3, 0.0)) == ["strong", "here", "weak"]

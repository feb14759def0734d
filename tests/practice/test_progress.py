"""Progress: weakest first, spaced, and a skill never met is due."""

from __future__ import annotations

from diagnose.practice.progress import next_skills, standings

SKILLS = ("a", "b", "c")


def line(skill: str, passed: bool, points: int) -> dict[str, object]:
    return {"teaches": [skill], "passed": passed, "points": points}


def test_what_was_never_met_or_failed_is_due_weakest_first() -> None:
    lines = [line("a", True, 90), line("b", False, 30)]
    found = standings(lines, SKILLS)
    assert [one.due for one in found] == [False, True, True]
    assert next_skills(found) == ("c", "b")


def test_what_went_well_comes_again_later_each_time() -> None:
    once = [line("a", True, 90), *[line("b", True, 90)] * 2]
    twice = [line("a", True, 90), *once]
    assert standings(once, SKILLS)[0].due
    assert not standings(twice, SKILLS)[0].due
    assert standings([*twice, *[line("b", True, 90)] * 3], SKILLS)[0].due


def test_late_cases_weigh_more() -> None:
    better = standings([line("a", False, 0), line("a", True, 100)], SKILLS)[0].points
    worse = standings([line("a", True, 100), line("a", False, 0)], SKILLS)[0].points
    assert better > 60 > 40 > worse

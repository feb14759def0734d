"""Random mistakes in sound layouts are caught by the line meant for them, and no other line cries wolf."""

from __future__ import annotations

from collections import Counter
from functools import lru_cache

import pytest

from diagnose.design_check.check import check_design
from diagnose.model.checks import Assumptions, CheckLine
from diagnose.store.checks import load_checks
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.tables import load_tables
from tests.design_check.mutations import MAKERS, Mutation, random_mutations

TABLES = load_tables(rules_folder())
CHECKS = load_checks(TABLES)
#: rules whose worst word is LOOK, since the thing may work for years
SOFT = {"fuse_style"}


@lru_cache(maxsize=32)
def sound(layout: str) -> tuple[CheckLine, ...]:
    return check_design(load_layout(layout), TABLES, CHECKS, Assumptions())


def caught_and_false(layout: str, mutation: Mutation) -> tuple[bool, list[str]]:
    """Return whether the meant line catches a mistake, and the lines that fail although they speak of other things."""
    lines = check_design(mutation.installation, TABLES, CHECKS, Assumptions())
    bad = {"LOOK", "FAIL"} if mutation.rule in SOFT else {"FAIL"}
    caught = any(x.verdict in bad and x.rule == mutation.rule and x.subject in mutation.subjects for x in lines)
    before = {(x.rule, x.subject) for x in sound(layout) if x.verdict == "FAIL"}
    false = [
        f"{x.rule} [{x.subject}] {x.says}"
        for x in lines
        if x.verdict == "FAIL" and (x.rule, x.subject) not in before
        and x.rule not in mutation.also
        and not (x.rule == mutation.rule and x.subject in mutation.subjects)
    ]  # fmt: skip
    return caught, false


def judge(count: int) -> None:
    missed, wolf = [], []
    for layout, mutation in random_mutations(20, count):
        caught, false = caught_and_false(layout, mutation)
        missed += [] if caught else [f"{layout}: {mutation.says} ({mutation.rule})"]
        wolf += [f"{layout}: {mutation.says}: {text}" for text in false]
    assert len(missed) <= 0.02 * count, "\n".join(missed)
    assert not wolf, "\n".join(wolf)


def test_forty_mistakes() -> None:
    judge(40)


@pytest.mark.slow
def test_two_hundred_mistakes() -> None:
    judge(200)


def test_every_kind_of_mistake_occurs() -> None:
    rules = Counter(mutation.rule for _, mutation in random_mutations(20, 200))
    assert len(rules) >= 20
    assert len(MAKERS) <= 40, "forty mistakes must hold every kind"

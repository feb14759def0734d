"""Whole walks as they are printed; `python -m tests.cli.golden_walks` writes them anew after a change of wording."""

from __future__ import annotations

import pytest

from diagnose.store.installations import layout_ids
from tests.cli.golden_walks import GOLDEN, WALKS


def test_every_layout_has_a_walk() -> None:
    assert set(WALKS) == set(layout_ids())
    assert {file.stem for file in GOLDEN.glob("*.txt")} == set(WALKS)


@pytest.mark.parametrize("layout", WALKS)
def test_a_kept_walk_reads_well(layout: str) -> None:
    """Every line can be read aloud: no ids, no line too long, cautions before what they belong to."""
    lines = (GOLDEN / f"{layout}.txt").read_text(encoding="utf-8").splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert any(line.startswith("REPAIRED AND PROVED") for line in lines), "the walk ends with a proof"
    for number, line in enumerate(lines):
        if line.startswith(("Repair, about", "State: ")):
            before = lines[max(number - 40, 0) : number]
            assert any(each.startswith(("Caution: ", "Still holds: ")) for each in before), line

"""Three kinds of trainees on a sample of the library: the engine first, chance far below; kept figures hold."""

from __future__ import annotations

import pytest

from diagnose.store.practice_cases import case_path
from diagnose.store.practice_figures import load_figures
from tests.practice.figures import figures_of, loaded
from tests.practice.players import scores


@pytest.mark.slow
def test_the_engine_comes_first_and_chance_last() -> None:
    known, total = load_figures(), {"engine": 0, "textbook": 0, "chance": 0}
    for name in ("sun-fuse-01",):
        best = known[name].best_minutes if name in known else 15.0
        for player, score in scores(loaded(case_path(name)), best).items():
            total[player] += score.points
    assert total["engine"] >= total["textbook"] > total["chance"]


@pytest.mark.slow
def test_kept_figures_can_be_worked_out_again() -> None:
    known = load_figures()
    name = next((n for n in ("sun-fuse-01", "van-plug-02") if n in known), None)
    if name is None:
        pytest.skip("no figures are kept of the cases of the sample")
    again = figures_of(loaded(case_path(name)))
    assert again.solved == known[name].solved
    assert again.level == known[name].level
    assert abs(again.own_minutes - known[name].own_minutes) <= 0.5 * known[name].own_minutes

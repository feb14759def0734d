"""Every kind of fault of some layouts answers the walk to its end; all layouts: `python -m tests.session.proof`."""

from __future__ import annotations

import pytest

from tests.session.proof import drawn, share_proved, walk_of

#: all kinds of fault weigh alike here, those with few signs among them, and a walk ends after twenty tests
PROVED = 0.7


@pytest.mark.slow
@pytest.mark.parametrize("layout", ["crew_cab_tray", "solar_only_van", "boat_bus_bar"])
def test_every_kind_of_fault_walks_to_a_proved_repair(layout: str) -> None:
    walks = [walk_of(case) for case in drawn(layout)]
    assert len(walks) > 15
    assert share_proved(walks) >= PROVED
    assert sum(walk.in_vain for walk in walks) <= 1

"""The meter of practice against ngspice: the hidden vehicles of cases, solved a second time.

What the trainee reads may differ by what the instrument is allowed to err: gain of 0.3 % (one sigma) with what lies
outside the tables, and two digits; four sigma are let through.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.model.reading import Take
from diagnose.practice.game import vehicle_of
from diagnose.prediction.fitting import Fitted
from diagnose.store.practice_cases import case_path
from tests.circuit.ngspice_batch import available
from tests.circuit.ngspice_oracle import answer_all, solve_with, unloaded
from tests.circuit.operating import Vehicle
from tests.inference.engines import rule_base
from tests.practice.figures import loaded

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not available(), reason="ngspice is not installed")]

#: of a reading, and beside it [V]
SHARE, BESIDE = 0.015, 0.003
METER = 1e7
SAMPLE = {
    "tray-earth-01": "loaded", "pair-earth-02": "loaded", "van-plug-02": "engine_running",
    "camper-plug-01": "loaded", "sun-switch-03": "sun_only", "boat-switch-02": "loaded",
}  # fmt: skip


@pytest.mark.parametrize("name", SAMPLE)
def test_what_the_trainee_reads_is_what_ngspice_finds(name: str) -> None:
    case, state = loaded(case_path(name)), SAMPLE[name]
    vehicle = vehicle_of(case.installation, *rule_base(), case.hidden, case.case.seed)
    scene = vehicle._circuit.scene(Fitted(state, None, None, None))
    twin = Vehicle.of(scene.wiring, scene.parameters, state)
    (answer,) = answer_all([twin])
    assert answer is not None
    names = scene.wiring.nodes
    points = [p for p in case.installation.points if p in names]
    pairs = [(a, b) for a, b in zip(points, points[3:], strict=False)]
    hints = dict(enumerate(answer.high.volts))
    jobs = [
        (replace(twin, meters=((names.index(a), names.index(b), METER),), hints=hints), unloaded(answer.doing))
        for a, b in pairs
    ]
    compared = 0
    for (a, b), solved in zip(pairs, solve_with(jobs), strict=True):
        take = Take("volts", (a, b), state)
        read = vehicle.answer(take)
        if solved is None or answer.high.tied or answer.high.idle or read.value is None or vehicle.shown(take).hunts:
            continue
        there = solved.volts[names.index(a)] - solved.volts[names.index(b)]
        assert abs(read.value - there) <= SHARE * abs(there) + BESIDE, (a, b, read.text, there)
        compared += 1
    assert compared >= 5

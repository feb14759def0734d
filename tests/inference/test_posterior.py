"""Strata of vehicles: quarters of a fault's sizes, times the classes of charge."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from diagnose.inference.bank import SIZES
from diagnose.inference.posterior import CHARGES, strata_of
from diagnose.store.installations import load_layout

VEHICLES = 48


def test_strata_are_quarters_of_the_sizes_by_charge() -> None:
    chance = np.random.default_rng(3)
    size, charge = chance.permutation(VEHICLES) + 0.5, chance.permutation(VEHICLES) * 0.01
    predictor = SimpleNamespace(
        count=VEHICLES, sizes=lambda number: size, installation=load_layout("solar_only_van"),
        sound_vehicles=lambda: SimpleNamespace(charge={"house_battery": charge}),
    )  # fmt: skip
    fine, coarse = strata_of(predictor, [1])  # type: ignore[arg-type]
    # sizes are 0.5, 1.5 and so on up to the number of vehicles, so a vehicle's quarter can be read from its size
    assert (fine[0] % SIZES).tolist() == (size * SIZES // VEHICLES).astype(int).tolist()
    assert (coarse[0]).tolist() == (size * 3 // VEHICLES).astype(int).tolist()
    full = (charge * 100 + 0.5) / VEHICLES
    assert (fine[0] // SIZES).tolist() == [sum(float(end) < rank for end in CHARGES) for rank in full]

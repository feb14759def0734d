"""The expected band is honest: of sound vehicles drawn afresh the stated share reads inside it."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from diagnose.inference.candidates import ALL_TOOLS, candidates
from diagnose.model.reading import Take
from diagnose.prediction.expected import expected_readings, shown_once
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.instruments import OVER_RANGE, resolution
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.streams import Streams
from diagnose.store.installations import layout_ids, load_layout
from tests.inference.engines import rule_base

VEHICLES = 2000
NUMBERS = ("volts", "amps", "ohms", "celsius", "ripple", "load_test", "gravity")


def coverage(layout: str, takes: list[Take]) -> list[tuple[Take, tuple[float, float], bool]]:
    """Return the share of fresh vehicles inside each band, and whether it spreads over more than five digits."""
    rules, tables = rule_base()
    installation = load_layout(layout)
    bands = expected_readings(installation, rules, tables, takes, SOUND, 1)
    streams = Streams(977, VEHICLES)
    predictor = Predictor(installation, tables, (SOUND,), streams)
    found = []
    for take, band, predicted in zip(takes, bands, predictor.predict(takes), strict=True):
        values, _ = shown_once(take, predicted, tables, streams)
        if take.quantity == "ohms":
            values = 10.0 ** values[values < OVER_RANGE - 0.5]
        if band.low is None or band.high is None or not len(values):
            continue
        inside = float(((values >= band.low - 1e-9) & (values <= band.high + 1e-9)).mean())
        strictly = float(((values > band.low + 1e-9) & (values < band.high - 1e-9)).mean())
        digit = float(np.median(resolution(values, 6000.0))) if take.quantity == "volts" else 0.0
        # a display cannot divide its digits: of the readings at the very ends of a band half count as inside
        shares = (inside, 0.5 * (inside + strictly))
        found.append((take, shares, band.high - band.low > 5.0 * max(digit, 1e-12)))
    return found


def check(found: list[tuple[Take, tuple[float, float], bool]]) -> None:
    """Hold every share against 93 and 97 %, with 1 % false alarms over the whole family."""
    worst = 0.005 / len(found)
    least, most = (binom.ppf(q, VEHICLES, p) / VEHICLES for q, p in ((worst, 0.93), (1.0 - worst, 0.97)))
    assert [(t, share) for t, (share, _), _ in found if share < least] == []
    assert [(t, share) for t, (_, share), spread in found if spread and share > most] == []


@pytest.mark.parametrize("layout", ["crew_cab_tray", "relay_pair"])
def test_band_is_honest_on_a_sample(layout: str) -> None:
    takes = [t for t in candidates(load_layout(layout), ALL_TOOLS) if t.quantity in NUMBERS]
    found = coverage(layout, takes[::9])
    assert len(found) > 30
    check(found)


@pytest.mark.slow
@pytest.mark.parametrize("layout", layout_ids())
def test_band_is_honest_for_every_quantity_and_state(layout: str) -> None:
    takes = [t for t in candidates(load_layout(layout), ALL_TOOLS) if t.quantity in NUMBERS]
    check(coverage(layout, takes))

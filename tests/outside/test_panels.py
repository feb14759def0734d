"""The panel's curve against a general photovoltaic library, and its label points against a public module table."""

from __future__ import annotations

import numpy as np
import pytest
from pvlib.pvsystem import i_from_v, max_power_point

from diagnose.circuit.branches import open_circuit, panel_current
from diagnose.circuit.panels import panel_numbers

#: Source: the CEC module table (2019-03-05) as shipped with pvlib 0.16.1, three 36-cell rows named by their values at
#: standard test conditions: open circuit [V], short circuit [A], peak voltage [V], peak current [A]
MODULES = {"M1": (22.2, 5.40, 18.0, 4.99), "M2": (21.6, 7.75, 17.2, 6.99), "M3": (23.3, 8.89, 18.6, 8.33)}


@pytest.mark.parametrize("name", MODULES)
@pytest.mark.parametrize("volts", [0.0, 6.0, 13.0, 14.4, 17.0, 20.0])
def test_current_is_that_of_the_single_diode_equation(name: str, volts: float) -> None:
    # Source: pvlib 0.16.1, i_from_v by Lambert W; tolerance 1e-9 A
    open_volts, short, peak_volts, peak = MODULES[name]
    n = panel_numbers(peak * peak_volts, open_volts, peak_volts, peak / short)
    expected = i_from_v(volts, n.photo, n.saturation, n.series, np.inf, n.scale, method="lambertw")
    ours, _ = panel_current(np.array([volts]), *(np.array([x]) for x in n))
    assert ours[0] == pytest.approx(float(expected), abs=1e-9)


@pytest.mark.parametrize("name", MODULES)
def test_curve_passes_through_the_three_points_of_the_label(name: str) -> None:
    # Source: pvlib 0.16.1, max_power_point on our numbers; the label's own points within 0.1 %
    open_volts, short, peak_volts, peak = MODULES[name]
    n = panel_numbers(peak * peak_volts, open_volts, peak_volts, peak / short)
    found = max_power_point(n.photo, n.saturation, n.series, np.inf, n.scale, method="brentq")
    assert float(found["v_mp"]) == pytest.approx(peak_volts, rel=1e-3)
    assert float(found["i_mp"]) == pytest.approx(peak, rel=1e-3)
    arrays = [np.array([x]) for x in n]
    assert float(open_circuit(*arrays[:3])[0]) == pytest.approx(open_volts, rel=1e-6)
    assert float(panel_current(np.array([0.0]), *arrays)[0][0]) == pytest.approx(short, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "at_13", "at_14_4"), [("M1", 5.370, 5.144), ("M2", 7.422, 6.912), ("M3", 8.992, 8.767)]
)
def test_hot_panel_near_charging_voltage(name: str, at_13: float, at_14_4: float) -> None:
    # Source: pvlib 0.16.1, calcparams_cec at 1000 W/m2 and 60 degC (reference values, computed); ours has neither shunt
    # nor the rise of current with temperature, so it may be 8 % off, near the knee of the hottest curve most
    open_volts, short, peak_volts, peak = MODULES[name]
    n = panel_numbers(peak * peak_volts, open_volts, peak_volts, peak / short)
    hot = n._replace(scale=n.scale * (1.0 - 0.0033 * 35.0))
    for volts, expected in ((13.0, at_13), (14.4, at_14_4)):
        ours, _ = panel_current(np.array([volts]), *(np.array([x]) for x in hot))
        assert ours[0] == pytest.approx(expected, rel=0.08)


def test_slope_is_that_of_the_curve() -> None:
    n = panel_numbers(90.0, 22.2, 18.0, 0.93)
    volts = np.array([5.0, 16.0, 20.0, 22.0])
    arrays = [np.full(4, x) for x in n]
    rise = panel_current(volts + 1e-5, *arrays)[0] - panel_current(volts - 1e-5, *arrays)[0]
    slope = panel_current(volts, *arrays)[1]
    assert slope == pytest.approx(rise / 2e-5, rel=1e-4)

"""Each rule of the design check: its examples, the sound layouts, facts of common practice, published examples."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import pytest

from diagnose.basics.batteries import interpolated
from diagnose.basics.conductors import joint_heat
from diagnose.basics.quantities import Span
from diagnose.circuit.modes import solve_state
from diagnose.circuit.readout import amps
from diagnose.circuit.wiring import build_wiring
from diagnose.design_check.carrying import ampacity, sized_resistance
from diagnose.design_check.check import CHECKS, check_design, design_of
from diagnose.model.checks import Assumptions, CheckLine
from diagnose.model.installation import Installation
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import draw_vehicles
from diagnose.store.checks import LoadedCheckExample, load_check_examples, load_checks
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import layout_ids, load_layout
from diagnose.store.tables import load_tables

TABLES = load_tables(rules_folder())
RULES = load_checks(TABLES)
EXAMPLES = load_check_examples(TABLES)
ORDER = ("PASS", "LOOK", "FAIL")


def lines_of(installation: Installation, **assumed: Any) -> tuple[CheckLine, ...]:
    return check_design(installation, TABLES, RULES, Assumptions(**assumed))


@lru_cache(maxsize=32)
def layout_lines(layout: str) -> tuple[CheckLine, ...]:
    return lines_of(load_layout(layout))


def changed(layout: str, **keys: Any) -> Installation:
    whole = load_layout(layout)
    parts: dict[str, Any] = dict(whole.parts)
    parts |= {name: parts[name].model_copy(update=update) for name, update in keys.items()}
    return whole.model_copy(update={"parts": parts})


def only(lines: tuple[CheckLine, ...], rule: str, subject: str) -> CheckLine:
    (line,) = (line for line in lines if line.rule == rule and line.subject == subject)
    return line


def known(value: float) -> Span:
    return Span(value, value)


def test_every_rule_has_its_file_and_every_file_its_rule() -> None:
    assert set(RULES) == set(CHECKS)


@pytest.mark.parametrize("loaded", EXAMPLES, ids=lambda e: f"{e.rule.id} {e.example.says}")
def test_an_example_is_judged_as_it_says(loaded: LoadedCheckExample) -> None:
    example = loaded.example
    found = [
        line for line in lines_of(loaded.installation) if (line.rule, line.subject) == (loaded.rule.id, example.subject)
    ]
    assert found, f"no line of {loaded.rule.id} about {example.subject}"
    assert max((line.verdict for line in found), key=ORDER.index) == example.verdict, [line.says for line in found]


@pytest.mark.parametrize("layout", layout_ids())
def test_a_sound_layout_does_not_fail(layout: str) -> None:
    assert [f"{x.rule} [{x.subject}] {x.says}" for x in layout_lines(layout) if x.verdict == "FAIL"] == []


@pytest.mark.parametrize("layout", layout_ids())
def test_a_line_is_complete_and_says_what_it_judges(layout: str) -> None:
    lines = layout_lines(layout)
    known_parts = set(load_layout(layout).parts)
    assert len(lines) >= 20
    for line in lines:
        assert line.verdict in ORDER
        assert line.subject in known_parts
        assert set(line.parts) <= known_parts
        assert line.says
        assert line.why
        assert line.source
    assert len({(x.rule, x.subject, x.says) for x in lines}) == len(lines), "the same thing is said twice"


# --- facts of common practice, in our own words; no published source ---


def test_charging_current_of_25_amperes_over_2_m_each_way_passes_on_8_awg() -> None:
    gauge, length = known(8.366), known(2.0)
    thinner = changed("canopy", input_cable={"area": gauge, "length": length}, canopy_earth={"area": gauge,
                      "length": length})  # fmt: skip
    lines = lines_of(thinner)
    for rule in ("drop_along_leg", "cable_carries_load", "cable_carries_fuse"):
        assert only(lines, rule, "input_cable").verdict == "PASS"
    assert only(lines, "drop_in_all", "charger").verdict == "PASS"


@pytest.mark.parametrize(
    ("area", "amperes", "verdict"), [(13.3, 10, "PASS"), (13.3, 150, "FAIL"), (53.48, 150, "PASS")]
)
def test_an_earth_of_1_m_for_its_load(area: float, amperes: float, verdict: str) -> None:
    made = changed(
        "crew_cab_tray", house_earth={"area": known(area), "length": known(1.0)},
        lights={"resistance": known(12.4 / amperes - 0.003)},
        lights_cable={"area": known(70.0), "length": known(1.0)}, lights_fuse={"rating": known(250.0)},
        house_battery={"capacity": known(600.0)},
    )  # fmt: skip
    line = only(lines_of(made), "earth_carries_load", "house_earth")
    assert line.verdict == verdict, line.says


@pytest.mark.parametrize("milliohm", [20.0, 40.0])
def test_tens_of_milliohms_in_a_holder_melt_it_round_a_sound_element(milliohm: float) -> None:
    at_work = design_of(load_layout("crew_cab_tray"), TABLES, RULES, Assumptions()).conditions
    watts = joint_heat(at_work.charging["input_fuse"], milliohm / 1000.0)
    least = TABLES.number("joints", "thermal_resistance") / TABLES.number("joints", "thermal_resistance_spread")
    assert watts * least > 200.0, "K above its surroundings: plastics of holders soften below that"


def test_a_warm_lead_battery_wants_the_lower_voltage() -> None:
    cool, warm = (
        only(lines_of(changed("crew_cab_tray", house_battery={"temperature": known(t)})), "profile_suits_warmth",
             "house_battery") for t in (20.0, 45.0)
    )  # fmt: skip
    assert cool.verdict == "PASS"
    assert warm.verdict == "LOOK"
    assert cool.limit is not None
    assert warm.limit is not None
    assert warm.limit < cool.limit


@pytest.mark.parametrize(("charge", "least", "most"), [(30.0, 29.0, 30.1), (99.0, 0.0, 8.0)])
def test_an_empty_battery_takes_the_rating_and_a_full_one_far_less(charge: float, least: float, most: float) -> None:
    wiring = build_wiring(load_layout("crew_cab_tray"))
    vehicle = draw_vehicles(wiring, TABLES, Streams(1, 8)).parameters
    row = wiring.device_parts("battery").index("house_battery")
    vehicle["battery.rest"][row] = interpolated(charge, *TABLES.curve("batteries", "rest_voltage_agm"))
    vehicle["battery.take"][row] = interpolated(charge, *TABLES.curve("batteries", "take_resistance_agm")) / 100.0
    current = amps(wiring, solve_state(wiring, vehicle, "engine_running"), "charger")[0]
    assert least <= current.min() <= current.max() <= most


def test_a_charger_belongs_within_1_m_of_its_battery() -> None:
    near, far = (
        only(lines_of(changed("crew_cab_tray", output_cable={"length": known(m)})), "charger_near", "charger")
        for m in (1.0, 1.2)
    )
    assert (near.verdict, far.verdict) == ("PASS", "LOOK")


def test_an_earth_on_rubber_is_tested_not_assumed() -> None:
    line = only(layout_lines("crew_cab_tray"), "earth_proved", "tray_strap")
    assert line.verdict == "LOOK"
    assert {"charger", "house_battery"} <= set(line.parts)


# --- published examples and figures ---


def test_ampacity_of_8_awg_in_an_engine_space() -> None:
    """33 CFR 183.425 Table 5: 80 A at 105 degC insulation; ABYC E-11: x 0.85 in an engine space, x 0.70 for three."""
    made = changed("crew_cab_tray", input_cable={"area": known(8.366)})
    alone = ampacity(design_of(made, TABLES, RULES, Assumptions()), "input_cable")
    assert alone.table == pytest.approx(80.0)
    assert alone.amps == pytest.approx(68.0)
    made = changed("crew_cab_tray", input_cable={"area": known(8.366), "bundled": 3})
    assert ampacity(design_of(made, TABLES, RULES, Assumptions()), "input_cable").amps == pytest.approx(47.6)


@pytest.mark.parametrize(("insulation", "table"), [(60, 55), (75, 65), (90, 70), (105, 80)])
def test_ampacity_of_8_awg_by_insulation(insulation: float, table: float) -> None:
    """33 CFR 183.425 Table 5."""
    made = changed("crew_cab_tray", output_cable={"area": known(8.366), "insulation": known(insulation)})
    assert ampacity(design_of(made, TABLES, RULES, Assumptions()), "output_cable").amps == pytest.approx(table)


@pytest.mark.parametrize(("area", "class5"), [(6, 3.30), (16, 1.21), (25, 0.780), (35, 0.554)])
def test_a_cable_is_taken_at_its_worst_and_hot(area: float, class5: float) -> None:
    """IEC 60228:2004 Table 3, class 5, at 20 degC: at least that, and no more than it has at 75 degC and two ends."""
    design = design_of(changed("crew_cab_tray", output_cable={"length": known(1.0)}), TABLES, RULES, Assumptions())
    found = 1000.0 * sized_resistance(design, "output_cable", area)
    assert class5 <= found <= class5 * 1.217 + 0.6


def test_fuse_of_a_continuous_current() -> None:
    """NFPA 70 (from memory): 40 A of continuous current asks for 50 A; 33 CFR 183.455: not above the ampacity, 68 A."""
    charger = {"rating": known(33.5)}
    made = changed("crew_cab_tray", input_cable={"area": known(8.366), "length": known(1.0)}, charger=charger)
    line = only(lines_of(made), "fuse_carries_load", "input_fuse")
    assert line.limit == pytest.approx(1.25 * 40.0, rel=0.02)
    for rating, verdict in ((45.0, "FAIL"), (60.0, "PASS")):
        sized = changed("crew_cab_tray", input_cable={"area": known(8.366), "length": known(1.0)}, charger=charger,
                        input_fuse={"rating": known(rating)})  # fmt: skip
        assert only(lines_of(sized), "fuse_carries_load", "input_fuse").verdict == verdict
        assert only(lines_of(sized), "cable_carries_fuse", "input_cable").verdict == "PASS"


def test_air_for_100_ampere_hours() -> None:
    """IEC 62485-2 Table 1: 100 Ah vented on boost asks for 0.60 m3/h and 16.8 cm2."""
    line = only(layout_lines("relay_pair"), "battery_gets_air", "house_battery")
    assert "0.60 m3/h" in line.says
    assert line.limit == pytest.approx(1680.0)


def test_days_to_flat_parked_and_left_alone() -> None:
    """75 Ah from 90 to 50 % at 67 mA and 0.1 % a day of its own lasts 17.8 days (charge balance)."""
    drain = {"power": None, "resistance": known(12.7 / 0.062), "always_on": True}
    made = changed("crew_cab_tray", house_battery={"capacity": known(75.0)}, lights=drain)
    line = only(lines_of(made, load_hours=(("fridge", 0.0),)), "energy_flat", "house_battery")
    assert line.value == pytest.approx(17.8, rel=0.05)


def test_hours_are_assumptions_that_can_be_said() -> None:
    usual = only(layout_lines("crew_cab_tray"), "energy_day", "house_battery")
    said = only(lines_of(load_layout("crew_cab_tray"), load_default=1.0, driving=0.0), "energy_day", "house_battery")
    assert usual.limit is not None
    assert said.limit is not None
    assert said.limit < 0.3 * usual.limit
    assert said.value == 0.0
    assert said.verdict == "LOOK"


@pytest.mark.parametrize("coldest", [-40.0, 25.0])
def test_the_colder_the_morning_the_more_volts(coldest: float) -> None:
    lines = lines_of(load_layout("canopy"), coldest=coldest)
    line = only(lines, "panel_volts_in_cold", "charger")
    assert line.value == pytest.approx(22.3 * (1.0 - 0.00375 * (coldest - 25.0)))

"""The figures: the shipped ones load, and a bad file says everything that is wrong, each with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.model.figures import FigureError, Tables
from diagnose.store.data_folder import rules_folder
from diagnose.store.tables import load_sources, load_tables

SOURCES = "book: {title: A book, edition: '3', kind: handbook}\n"
GOOD = "value: 1.5, unit: V, source: book, confidence: read, checked: 2026-11-25"


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables(rules_folder())


def said(folder: Path, **files: str) -> list[str]:
    (folder / "tables").mkdir(exist_ok=True)
    (folder / "sources.yaml").write_text(files.pop("sources", SOURCES), encoding="utf-8")
    for name, text in files.items():
        (folder / "tables" / f"{name}.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as raised:
        load_tables(folder)
    return [problem.text() for problem in raised.value.problems]


def test_the_shipped_figures_load(tables: Tables) -> None:
    assert len(tables.figures) >= 12
    assert sum(len(table) for table in tables.figures.values()) > 300
    assert set(load_sources(rules_folder())) == set(tables.sources)


def test_the_unknowns_of_the_contract(tables: Tables) -> None:
    wanted = {
        ("batteries", "start_charge_low"): 65, ("batteries", "other_charge_high"): 95,
        ("batteries", "rest_voltage_spread"): 0.05, ("batteries", "give_spread_factor"): 1.5,
        ("batteries", "take_spread_factor"): 2, ("alternators", "fixed_spread"): 0.15,
        ("alternators", "variable_low"): 12.2, ("alternators", "variable_high"): 15.0,
        ("conductors", "cable_resistance_low"): -0.05, ("conductors", "cable_resistance_high"): 0.12,
        ("conductors", "cable_warmer_than_zone_high"): 20, ("conductors", "zone_temperature_spread"): 10,
        ("joints", "joint_log_factor"): 1.7, ("joints", "termination_median"): 0.0003,
        ("joints", "holder_contact_median"): 0.0004, ("joints", "contact_median"): 0.0007,
        ("joints", "bond_median"): 0.0005, ("joints", "fuse_element_drop_at_rating"): 0.06,
        ("joints", "fuse_element_spread"): 0.3, ("chargers", "threshold_spread"): 0.05,
        ("chargers", "profile_spread"): 0.05, ("chargers", "efficiency_spread"): 0.03,
        ("chargers", "case_above_zone_low"): 5, ("chargers", "case_above_zone_high"): 18,
        ("panels", "sun_low"): 0.6, ("panels", "sun_high"): 1.0, ("loads", "spread"): 0.15,
        ("meters", "volts_gain"): 0.003, ("meters", "digits"): 2, ("meters", "counts"): 6000,
        ("meters", "input_resistance"): 1e7, ("meters", "ohms_lead_high"): 0.3, ("meters", "clamp_zero"): 0.15,
        ("meters", "clamp_gain"): 0.02, ("meters", "thermometer"): 3,
    }  # fmt: skip
    assert {key: tables.number(*key) for key in wanted} == wanted
    assert {tables.figure(*key).confidence for key in wanted} == {"contract"}


def test_every_chemistry_has_the_same_figures(tables: Tables) -> None:
    names = set(tables.figures["batteries"])
    of = {
        c: {n.removesuffix(f"_{c}") for n in names if n.endswith(f"_{c}")}
        for c in ("flooded", "agm", "gel", "calcium", "lfp")
    }
    assert of["flooded"] == of["agm"] == of["gel"] == of["calcium"]
    assert of["flooded"] <= of["lfp"]
    for chemistry in of:
        low, high, never = (
            tables.number("batteries", f"{n}_{chemistry}") for n in ("absorption_low", "absorption_high", "never_above")
        )
        assert low < high <= never
        take = tables.values("batteries", f"take_resistance_{chemistry}")
        assert list(take) == sorted(take)


def test_a_pair_named_low_and_high_is_in_order(tables: Tables) -> None:
    for table, figures in tables.figures.items():
        for name in figures:
            if name.endswith("_low") and name.removesuffix("_low") + "_high" in figures:
                low, high = figures[name].value, figures[name.removesuffix("_low") + "_high"].value
                assert (low < high) is True, (table, name)


def test_a_missing_figure_is_named(tables: Tables) -> None:
    with pytest.raises(FigureError, match=r"no figure `bond_medain` in rules/tables/joints\.yaml, did you"):
        tables.number("joints", "bond_medain")
    with pytest.raises(FigureError, match="no table `joint` in rules/tables, did you mean `joints`"):
        tables.number("joint", "bond_median")
    with pytest.raises(FigureError, match=r"`class5_resistance` .* is a list"):
        tables.number("conductors", "class5_resistance")
    with pytest.raises(FigureError, match="a curve is wanted"):
        tables.curve("fuses", "sold_blade")
    with pytest.raises(FigureError, match="is a single number"):
        tables.values("joints", "bond_median")


def test_all_problems_of_all_files_at_once_with_their_places(tmp_path: Path) -> None:
    lines = said(
        tmp_path,
        a=f"good: {{{GOOD}}}\ntext: {{{GOOD.replace('1.5', '1.5 V')}}}\nthere: {{{GOOD.replace('book', 'bok')}}}\n",
        b=f"late: {{{GOOD}, colour: red}}\nday: {{{GOOD.replace('-11-', '-13-')}}}\n",
    )
    assert lines[0].startswith("rules/tables/a.yaml:2:15: `1.5 V` is no number, write a plain number")
    assert lines[1] == "rules/tables/a.yaml:3:38: unknown source `bok`, did you mean book?"
    assert lines[2].startswith("rules/tables/b.yaml:1:82: unknown key `colour`")
    assert lines[3].startswith("rules/tables/b.yaml:2:")
    assert len(lines) == 4


@pytest.mark.parametrize(
    ("entry", "wrong"),
    [
        (GOOD.replace("value: 1.5", "value: [1, 2]") + ", over: [1, 2]", "`over` and `over_unit`"),
        (GOOD.replace("value: 1.5", "value: [1, 2]") + ", over: [1, 2, 3], over_unit: A", "differ in length"),
        (GOOD.replace("value: 1.5", "value: [1, 2]") + ", over: [2, 1], over_unit: A", "does not rise"),
        (GOOD + ", over: [1, 2], over_unit: A", "differ in length"),
        (GOOD.replace("value: 1.5", "value: [1]"), "at least two numbers"),
        (GOOD.replace("1.5", "true"), "`True` is no number"),
        (GOOD.replace("confidence: read", "confidence: judgement"), "disagree"),
        (GOOD.replace("unit: V, ", ""), "`unit` is missing"),
        (GOOD.replace("source: book, ", ""), "`source` is missing"),
        (GOOD.replace(", checked: 2026-11-25", ""), "`checked` is missing"),
    ],
)
def test_a_figure_that_does_not_hold_together(entry: str, wrong: str, tmp_path: Path) -> None:
    lines = said(tmp_path, a=f"some: {{{entry}}}\n")
    assert len(lines) == 1
    assert lines[0].startswith("rules/tables/a.yaml:1:")
    assert wrong in lines[0]


def test_bad_sources_and_no_tables(tmp_path: Path) -> None:
    lines = said(tmp_path, sources="book: {title: A book, edition: '3', kind: rumour}\n")
    assert lines[0].startswith("rules/sources.yaml:1:")
    assert any("there are no tables here" in line for line in lines)

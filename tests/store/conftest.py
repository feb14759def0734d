"""A small rule base with one layout, so that these tests do not move when the shipped layouts do."""

from __future__ import annotations

from pathlib import Path

import pytest

LAYOUT = """\
title: Reed cutter's van
zones: {bay: {ambient: 60 degC}, rear: {}}
points: {charger_in: {name: input stud, zone: rear, access: 2 min}}
parts:
  start: {kind: battery, pos: start_pos, neg: start_neg, chemistry: flooded, capacity: 70 Ah}
  house: {kind: battery, pos: house_pos, neg: house_neg, chemistry: agm, capacity: 100 Ah}
  feed_fuse: {kind: fuse, ends: [start_pos, fuse_load], rating: 50 A, style: bolted}
  feed: {kind: cable, ends: [fuse_load, charger_in], area: 16 mm2, length: 5 m}
  start_earth: {kind: cable, ends: [start_neg, chassis], area: 25 mm2, length: 0.5 m}
  charger_earth: {kind: cable, ends: [charger_neg, chassis], area: 16 mm2, length: 1 m}
  house_earth: {kind: cable, ends: [house_neg, chassis], area: 16 mm2, length: 1 m}
  house_feed: {kind: cable, ends: [charger_out, house_pos], area: 16 mm2, length: 1 m}
  strap: {kind: bond, ends: [tray, chassis]}
  lamp: {kind: load, pos: house_pos, neg: tray, power: 12 W}
  charger:
    {kind: charger, input: charger_in, output: charger_out, negative: charger_neg, rating: 30 A,
     profiles: [{name: AGM, voltage: 14.7 V}, {name: gel, voltage: 14.1 V}], profile: AGM}
"""


@pytest.fixture
def rule_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    layouts = tmp_path / "data" / "rules" / "layouts"
    layouts.mkdir(parents=True)
    (layouts.parent / "MARKER.yaml").write_text("rule_base: charge-path-diagnose\nform: 1\n", encoding="utf-8")
    (layouts / "reed_van.yaml").write_text(LAYOUT, encoding="utf-8")
    monkeypatch.setenv("DIAGNOSE_DATA", str(tmp_path / "data"))
    return layouts

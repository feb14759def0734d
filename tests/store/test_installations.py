"""Installation files: complete ones, layouts with own keys over them, bad ones with every defect placed."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.basics.quantities import Span
from diagnose.model.installation import Installation
from diagnose.store.installations import (
    installation_from_mapping,
    layout_ids,
    load_installation,
    load_layout,
)
from diagnose.store.yaml_text import yaml_document

COMPLETE = """\
title: Wetland survey crew-cab
ambient: 28 degC
zones: {engine_bay: {ambient: 60 degC}, tray: {}}
points:
  charger_in:  {name: charger input stud, zone: tray, access: 2 min}
  tray:        {name: tray floor, zone: tray}
parts:
  start_battery: {kind: battery, pos: start_pos, neg: start_neg, chemistry: flooded, capacity: 75 Ah}
  house_battery: {kind: battery, pos: house_pos, neg: house_neg, chemistry: agm, capacity: 100 Ah, max_charge: 14.7 V}
  alternator:    {kind: alternator, pos: alt_pos, neg: engine, regulation: fixed, voltage: 14.2 V, rating: 110 A}
  input_cable:   {kind: cable, ends: [input_fuse_load, charger_in], area: 6 AWG, length: 3 to 6 m, routed: engine_bay}
  input_fuse:    {kind: fuse, ends: [start_pos, input_fuse_load], rating: 50 A, style: bolted}
  tray_strap:    {kind: bond, ends: [tray, chassis]}
  fridge:        {kind: load, pos: fridge_pos, neg: fridge_neg, power: 55 W}
  charger:
    kind: charger
    input: charger_in
    output: charger_out
    negative: charger_neg
    ignition: charger_ign
    solar: charger_solar
    rating: 30 A
    starts_above: 12.9 V
    stops_below: 12.4 V
    needs_at_output: 0 V
    profiles: [{name: AGM, voltage: 14.7 V}, {name: gel, voltage: 14.1 V}]
    profile: AGM
    lamps: {charging: {on: running, flashing: standby, off: no supply}}
"""


def load(tmp_path: Path, text: str) -> Installation:
    path = tmp_path / "van.yaml"
    path.write_text(text, encoding="utf-8")
    return load_installation(path)


def problems(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(BadInput) as raised:
        load(tmp_path, text)
    return [problem.text().removeprefix(f"{tmp_path}/") for problem in raised.value.problems]


def test_a_complete_file(tmp_path: Path) -> None:
    installation = load(tmp_path, COMPLETE)
    assert installation.ambient == Span(28.0, 28.0)
    assert installation.parts["input_cable"].length == Span(3.0, 6.0)  # type: ignore[union-attr]
    assert installation.points["charger_in"].access == Span(2.0, 2.0)
    assert installation.points["start_pos"].name == "start pos"
    assert installation.points["tray"].name == "tray floor"
    assert "charger_ign" in installation.points


def test_a_layout_by_itself(rule_folder: Path) -> None:
    assert layout_ids() == ("reed_van",)
    assert load_layout("reed_van").title == "Reed cutter's van"


def test_own_keys_over_a_layout(rule_folder: Path, tmp_path: Path) -> None:
    installation = load(
        tmp_path,
        "layout: reed_van\n"
        "title: Mine\n"
        "zones: {bay: {ambient: 70 degC}}\n"
        "points: {charger_in: {access: 5 min}}\n"
        "parts:\n"
        "  feed: {length: 4 m}\n"
        "  house: {chemistry: lfp, max_charge: 14.4 V}\n"
        "  strap: {kind: switch, ends: [tray, chassis]}\n"
        "  lamp: null\n"
        "  pump: {kind: load, pos: house_pos, neg: chassis, resistance: 4 ohm}\n",
    )
    parts = installation.parts
    assert installation.title == "Mine"
    assert installation.layout == "reed_van"
    assert installation.zones["bay"].ambient == Span(70.0, 70.0)
    assert "rear" in installation.zones
    point = installation.points["charger_in"]
    assert (point.name, point.zone, point.access) == ("input stud", "rear", Span(5.0, 5.0))
    assert (parts["feed"].length, parts["feed"].area) == (Span(4.0, 4.0), Span(16.0, 16.0))  # type: ignore[union-attr]
    assert parts["house"].chemistry == "lfp"  # type: ignore[union-attr]
    assert parts["strap"].kind == "switch"
    assert "lamp" not in parts
    assert "pump" in parts


def test_a_part_of_another_kind_is_replaced_whole(rule_folder: Path, tmp_path: Path) -> None:
    assert problems(tmp_path, "layout: reed_van\nparts:\n  strap: {kind: cable, area: 4 mm2}\n") == [
        "van.yaml:3:3: `ends` is missing, write `ends:` with a list of 2, for example [a, b]",
        "van.yaml:3:3: `length` is missing, write `length:` with a length: a number with its unit, or a range such as "
        "`3 to 6 m`",
    ]


def test_a_key_set_to_null_is_removed(rule_folder: Path, tmp_path: Path) -> None:
    installation = load(tmp_path, "layout: reed_van\nparts: {lamp: {power: null, resistance: 12 ohm}}\n")
    assert installation.parts["lamp"].power is None  # type: ignore[union-attr]


def test_a_problem_is_placed_in_the_file_that_wrote_it(rule_folder: Path, tmp_path: Path) -> None:
    sound = (rule_folder / "reed_van.yaml").read_text(encoding="utf-8")
    (rule_folder / "bad_van.yaml").write_text(sound.replace("length: 5 m", "length: 5"), encoding="utf-8")
    assert problems(tmp_path, "layout: bad_van\nparts: {feed: {area: 16}}\n") == [
        "van.yaml:2:22: a unit is missing, write for example 16 mm2",
        "layout bad_van:8:76: a unit is missing, write for example 5 m",
    ]


@pytest.mark.parametrize(
    ("layout", "message"),
    [
        ("../reed_van", "van.yaml:1:9: the layout `../reed_van` is a path, write a bare id: reed_van"),
        ("/etc/passwd", "van.yaml:1:9: the layout `/etc/passwd` is a path, write a bare id: reed_van"),
        ("reed_van.yaml", "van.yaml:1:9: the layout `reed_van.yaml` is a path, write a bare id: reed_van"),
        ("'..\\reed_van'", "van.yaml:1:9: the layout `..\\reed_van` is a path, write a bare id: reed_van"),
        ("reed_vna", "van.yaml:1:9: no layout `reed_vna`, did you mean reed_van?"),
        ("boat", "van.yaml:1:9: no layout `boat`, write one of reed_van"),
        ("7", "van.yaml:1:9: no layout `7`, write one of reed_van"),
        ("[a]", "van.yaml:1:9: no layout `['a']`, did you mean reed_van?"),
    ],
)
def test_layouts_refused(rule_folder: Path, tmp_path: Path, layout: str, message: str) -> None:
    found = problems(tmp_path, f"layout: {layout}\nparts: {{feed: {{length: 3 m}}, lamp: null}}\n")
    assert len(found) == 1
    assert found[0].split(", ")[0] == message.split(", ")[0]


def test_a_layout_that_starts_from_a_layout(rule_folder: Path, tmp_path: Path) -> None:
    (rule_folder / "second.yaml").write_text("layout: reed_van\ntitle: x\nparts: {}\n", encoding="utf-8")
    said = "layout second:1:9: a layout that starts from a layout, write it out"
    assert said in problems(tmp_path, "layout: second\n")


def test_inside_another_file(rule_folder: Path) -> None:
    document = yaml_document("id: x\ninstallation: reed_van\n", "case.yaml")
    assert installation_from_mapping("reed_van", document, ("installation",)).layout is None
    document = yaml_document("id: x\ninstallation: {layout: reed_van, parts: {feed: {length: 4}}}\n", "case.yaml")
    with pytest.raises(BadInput, match=r"^case.yaml:2:57: a unit is missing, write for example 4 m$"):
        installation_from_mapping(document.data["installation"], document, ("installation",))
    with pytest.raises(BadInput, match=r"^case.yaml:2:15: no layout `reed_vn`, did you mean reed_van\?$"):
        installation_from_mapping("reed_vn", document, ("installation",))


BAD = """\
title: 12
ambien: 20 degC
ambient: 28
zones: {engine_bay: {ambient: .nan}}
points:
  Bad-One: {name: x}
  charger_in: {name: input stud, zone: enginebay, access: -2 min}
  charger_in: {}
parts:
  a: {kind: batery, pos: a}
  b: {pos: x}
  c: {kind: cable, ends: [start_pos], area: 16, length: 0 m, bundled: true}
  d: {kind: fuse, ends: [start_pos, f_load, x], rating: -5 A, style: bolt}
  e: {kind: battery, pos: start_pos, neg: start_pos, chemistry: flooded, capacity: 70 Ah}
  f: {kind: battery, pos: house_pos, neg: house_neg, chemistry: agmm, capacity: 1,000 Ah, protection: on, nme: x}
  g: text
  h: {kind: alternator, pos: start_pos, neg: engine, regulation: fixed, voltage: 28 V, rating: 110 A}
  i: {kind: alternator, pos: start_pos, neg: engine, regulation: fixed, rating: 110 A}
  j: {kind: load, pos: house_pos, neg: house_neg}
  k: {kind: load, pos: house_pos, neg: house_neg, power: 5 W, resistance: 4 ohm}
  l: {kind: cable, ends: [main_fsue_load, charger_in], area: 16 mm2, length: 6 to 3 m, routed: boot}
  m: {kind: fuse, ends: [house_pos, main_fuse_load], rating: 50 A, style: blade}
  n: {kind: cable, ends: [main_fuse_load, main_fuse_load], area: &x 16 mm2, length: inf m}
  o: null
  p: {kind: supply, pos: house_pos, neg: house_neg, voltage: 27.6 V, rating: 10 MA}
  q: {kind: battery, pos: house_pos, neg: house_neg, chemistry: agm, capacity: 70 Ah, max_charge: 28.8 V}
  r: {kind: relay, coil: [key, key], ends: [start_pos, house_pos], closes_above: 8 V, opens_below: 9 V}
  s: {kind: panel, pos: house_pos, neg: house_neg, power: 100 W, open_circuit: 18 V, peak_voltage: 22 V}
  t:
    kind: charger
    output: charger_out
    negative: charger_out
    rating: 30 A
    efficiency: 90
    profiles: [{name: AGM, voltage: 14.7 V}]
    profile: AGM
  u:
    kind: charger
    output: charger_out
    negative: nothing
    rating: 30 A
    starts_above: 12.2 V
    stops_below: 12.4 V
    profiles: [{name: AGM, voltage: 14.7 V, tied_to: house_neg}, {name: AGM, voltage: 28 V}]
    profile: amg
  v:
    kind: charger
    input: charger_in
    output: charger_out
    negative: house_neg
    rating: 30 A
    profile_lead: lead
    profiles: [{name: AGM, voltage: 14.7 V, tied_to: nothing}, {name: gel, voltage: 14.1 V}]
    profile: gel
"""
BAD_SAID = """\
2:1: unknown key `ambien`, did you mean ambient?
3:10: a unit is missing, write for example 28 degC
4:31: `.nan` is no temperature, write for example 25 degC
6:3: `Bad-One` is no name, use small letters, digits and _, beginning with a letter, at most 60
7:59: `-2 min` is negative, it must be above zero, for example 2 min
8:3: `charger_in` is written twice, keep one, the first is in line 7
10:13: unknown kind `batery`, did you mean battery?
11:3: `kind` is missing, write `kind:` with one of alternator, battery, bond, cable, charger, contact, diode, fuse, \
load, panel, relay, shunt, starter, supply, switch
12:26: `ends` is too short, write a list of 2, for example [a, b]
12:45: a unit is missing, write for example 16 mm2
12:57: a length of nothing, it must be above zero, for example 4.8 m
12:71: true is no bundled, write a whole number
13:25: `ends` is too long, write a list of 2, for example [a, b]
13:57: -5 A is too low here, it must be above 0 A, for example 30 A
13:70: `bolt` is no style, did you mean bolted?
14:43: `pos` and `neg` are both start_pos, write two different points
15:65: `agmm` is no chemistry, did you mean agm?
15:81: a unit is missing, write for example 1 Ah
15:83: `000 Ah` has lost its beginning, in braces a comma separates: write a decimal point, or the value in quotes
15:103: `on` is no protection, write true or false
15:107: unknown key `nme`, did you mean name?
16:6: `text` is no g, write a mapping with `kind:` and the keys of that kind
17:82: `voltage` does not belong to a 12 V installation, only 12 V installations are known here: it lies within 12.2 \
to 16 V
18:6: `voltage` is missing, write `voltage:` for a fixed regulation, for example 14.2 V
19:6: a load without `power` or `resistance`, write one of them, for example power: 55 W
20:75: a load with both `power` and `resistance`, keep one, and set a layout's own to null
21:78: `6 to 3 m` runs from high to low, write the lower value first
23:66: an anchor `&x`, write the value without it
23:85: `inf m` is no length, write for example 4.8 m
24:3: there is no part `o` to remove, take the line out, or describe the part
25:78: MA may mean milli or mega, write mA or A
26:99: `max_charge` does not belong to a 12 V installation, only 12 V installations are known here: it lies within \
12.5 to 17 V
27:32: both of `coil` are key, write two different points
27:100: `opens_below` is not under `closes_above`, `opens_below` must be the lower of the two
28:100: `peak_voltage` is not under `open_circuit`, `peak_voltage` must be the lower of the two
34:17: `90` is out of range, `efficiency` must be at most 1
38:5: a charger without `input` or `solar`, write the point that feeds it, for example input: charger_in
40:15: `nothing` is no point, give the point another name
43:18: `stops_below` is not under `starts_above`, `stops_below` must be the lower of the two
44:54: `tied_to` without a profile lead, write `profile_lead:`, or take this out
44:73: two profiles `AGM`, give each profile a name of its own
44:87: `voltage` does not belong to a 12 V installation, only 12 V installations are known here: it lies within 12.5 \
to 17 V
45:14: no profile `amg`, did you mean AGM?
53:64: `tied_to` is missing, write the point this profile's lead is tied to, or nothing
"""


def test_every_defect_at_once_with_its_place(tmp_path: Path) -> None:
    found = problems(tmp_path, BAD)
    assert [line.removeprefix("van.yaml:") for line in found] == BAD_SAID.splitlines()


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (("input_fuse_load, charger_in]", "input_fsue_load, charger_in]"),
         "van.yaml:11:39: only this part names the point `input_fsue_load`, did you mean input_fuse_load? a place of "
         "its own is named under `points:`"),
        (("ends: [tray, chassis]", "ends: [tray, tray]"),
         "van.yaml:13:44: both of `ends` are tray, write two different points"),
        (("routed: engine_bay", "routed: enginebay"), "van.yaml:11:108: no zone `enginebay`, did you mean engine_bay?"),
        (("zone: tray, access", "zone: attic, access"), "van.yaml:5:49: no zone `attic`, describe it under `zones:`"),
        (("{on: running", "{onn: running"), "van.yaml:28:24: `onn` is no onn, did you mean on?"),
        (("  fridge:  ", "  Fridge:  "), "van.yaml:14:3: `Fridge` is no name, use small letters, digits and _, "
         "beginning with a letter, at most 60"),
        (("pos: start_pos", "pos: start@pos"), "van.yaml:8:39: `start@pos` is no name, use small letters, digits and "
         "_, beginning with a letter, at most 60"),
    ],
)
def test_one_defect(tmp_path: Path, change: tuple[str, str], message: str) -> None:
    assert change[0] in COMPLETE
    assert problems(tmp_path, COMPLETE.replace(*change)) == [message]


def test_names_told_apart_on_purpose_are_no_slips(tmp_path: Path) -> None:
    load(
        tmp_path,
        COMPLETE
        + "  spare_1: {kind: cable, ends: [bus_1, open_end_a], area: 4 mm2, length: 1 m}\n"
        + "  spare_2: {kind: cable, ends: [bus_2, open_end_b], area: 4 mm2, length: 1 m}\n",
    )


def test_no_battery_and_no_mapping(tmp_path: Path) -> None:
    assert problems(tmp_path, "title: x\nparts: {strap: {kind: bond, ends: [a, b]}}\n") == [
        "van.yaml:2:8: there is no battery, describe at least one part with kind: battery"
    ]
    assert problems(tmp_path, "- a\n") == [
        "van.yaml:1:1: this is no installation, write keys such as title:, points: and parts:"
    ]
    assert problems(tmp_path, "title: x\nparts: [a]\n") == [
        "van.yaml:2:8: a list is no parts, write a mapping of keys and values"
    ]


def test_too_many_parts(tmp_path: Path) -> None:
    many = "".join(f"  p{number}: {{kind: bond, ends: [a{number}, b]}}\n" for number in range(2001))
    assert problems(tmp_path, f"title: x\nparts:\n{many}") == [
        "van.yaml:2:1: more than 2000 parts, describe one vehicle"
    ]


def test_nothing_raw_from_a_file_reaches_the_terminal(tmp_path: Path) -> None:
    for line in problems(tmp_path, 'title: "\\e[31m"\nparts: {"a\\e]0;x\\a": {kind: "\\e[2J"}}\n'):
        assert line.isprintable()

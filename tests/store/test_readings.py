"""Readings files: every kind of entry, what is refused and where, and the limits of a jumper."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Take
from diagnose.store.installations import load_layout
from diagnose.store.readings import ReadingsFile, load_readings, readings_from_document
from diagnose.store.yaml_text import yaml_document


@pytest.fixture
def van(rule_folder: Path) -> Installation:
    return load_layout("reed_van")


def load(tmp_path: Path, van: Installation, text: str, **options: object) -> ReadingsFile:
    path = tmp_path / "found.yaml"
    path.write_text(text, encoding="utf-8")
    return load_readings(path, van, **options)  # type: ignore[arg-type]


def problems(tmp_path: Path, van: Installation, text: str, **options: object) -> list[str]:
    with pytest.raises(BadInput) as raised:
        load(tmp_path, van, text, **options)
    return [problem.text().removeprefix(f"{tmp_path}/found.yaml:") for problem in raised.value.problems]


def one(tmp_path: Path, van: Installation, entry: str, **options: object) -> str:
    found = problems(tmp_path, van, f"readings:\n  - {entry}\n", **options)
    assert len(found) == 1, found
    return found[0]


GOOD = """\
complaint: charger does not start
readings:
  - {volts: [charger_in, charger_neg], when: engine_running, read: 11.920}
  - {amps: feed, when: engine_running, read: -0.2 A}
  - {ohms: [tray, chassis], read: OL}
  - {ripple: [house_pos, house_neg], when: engine_running, read: 40 mV}
  - {celsius: feed_fuse@fuse_load, when: engine_running, read: 160 degF}
  - {lamp: charging, when: engine_running, read: off}
  - {lamp: charger.charging, when: key_on, read: off}
  - {look: feed_fuse, read: good}
  - {smell: house, read: none}
  - {works: lamp, when: loaded, read: no}
  - {tug: feed@charger_in, read: loose}
  - {wiggle: feed@charger_in, when: engine_running, read: changes}
  - {load_test: start, read: 10,2}
  - {gravity: start, read: 1.23}
  - {volts: [feed@charger_in, charger_neg], meter: test_lamp, when: loaded, read: dim}
  - {jumper: [tray, chassis], lamp: charging, when: engine_running, read: on}
  - {swap: feed_fuse, lamp: charging, when: engine_running, read: skipped}
  - {volts: [house_pos, house_neg], when: engine_running, read: unsteady 11.8 to 13.1 V}
  - {volts: [start_pos, start_neg], when: isolated, read: <0.1}
  - {repaired: {fault: open_circuit, part: strap, at: null}}
  - {repaired: {fault: wrong_connection, part: feed, at: charger_in, to: house_pos}, read: done}
"""


def test_every_kind_of_entry(tmp_path: Path, van: Installation) -> None:
    # a comma in braces ends the value, so this one stands as a block
    text = GOOD.replace("  - {load_test: start, read: 10,2}\n", "  - load_test: start\n    read: 10,2\n")
    result = load(tmp_path, van, text)
    takes = [reading.take for reading in result.readings]
    reads = [reading.read for reading in result.readings]
    assert result.complaint == "charger does not start"
    assert takes[0] == Take("volts", ("charger_in", "charger_neg"), "engine_running")
    assert reads[0] == Read("number", "11.920", 11.92)
    assert takes[2] == Take("ohms", ("tray", "chassis"), "isolated")
    assert reads[2] == Read("over_range", "OL")
    assert [read.value for read in reads[3:5] if read] == [0.04, pytest.approx(71.1111111111)]
    assert reads[5] == Read("word", "off", word="off")
    assert takes[7] == Take("look", ("feed_fuse",), "at_rest")
    assert reads[12] == Read("number", "10,2", 10.2)
    assert reads[14] == Read("word", "dim", word="dim")
    assert takes[14] is not None
    assert takes[14].meter == "test_lamp"
    assert takes[15] == Take("lamp", ("charging",), "engine_running", jumper=("tray", "chassis"))
    assert takes[16] == Take("lamp", ("charging",), "engine_running", swap="feed_fuse")
    assert reads[16] == Read("skipped", "skipped")
    assert reads[17] == Read("unsteady", "unsteady 11.8 to 13.1 V", 11.8, 13.1)
    assert reads[18] == Read("below", "<0.1", 0.1)
    assert result.readings[19].repaired == FaultAt("open_circuit", "strap")
    assert result.readings[20].repaired == FaultAt("wrong_connection", "feed", "charger_in", "house_pos")
    assert result.positions[0] == (3, 5)
    assert len(result.positions) == len(result.readings) == 21


@pytest.mark.parametrize("text", ["readings: []\n", "complaint: x\n", "readings:\n", "complaint: 7\nreadings: []\n"])
def test_no_readings_are_readings_too(tmp_path: Path, van: Installation, text: str) -> None:
    assert load(tmp_path, van, text).readings == ()


def test_expected_readings_need_no_result(tmp_path: Path, van: Installation) -> None:
    text = "readings:\n  - {volts: [tray, chassis], jumper: null, swap: null, meter: multimeter}\n"
    assert load(tmp_path, van, text, needs_read=False).readings[0].read is None
    assert problems(tmp_path, van, text) == ["2:5: `read` is missing, write what was read, or read: skipped"]


BAD = """\
complaint: [x]
reading: []
readings:
  - {volts: [charger_inn, charger_neg], when: engine_runing, read: 11,92 V}
  - {volts: [start_pos, feed_fuse], when: engine_running, read: 5 A}
  - {amps: feed@charger_in, when: engine_running, read: 5 MA}
  - {ohms: [tray, chassis], when: at_rest, read: good}
  - {celsius: lamp@tray, read: 71 V}
  - {lamp: chargin, read: true}
  - {look: feed_fuse, read: blwon}
  - {tug: feed, read: loose}
  - {repaired: {fault: open_circit, part: strap, at: trai}, volts: [tray, chassis]}
  - {volts: [tray, chassis], when: isolated, read: 0}
  - {volts: [start_pos, start_neg], amps: lamp, read: 0}
  - {gravity: house, read: 1.2}
  - {works: charger, meter: test_lamp, read: yes}
  - text
  - {}
  - {volts: [tray, tray], wehn: at_rest, read: &a 0}
  - {volts: [tray], read: .nan}
  - {tug: feed@tray, read: good}
  - {swap: feed_fus, volts: [tray, chassis], jumper: [tray, chassis], read: 1 V}
  - {ripple: [tray, chassis], meter: tset_lamp, read: -1 V}
  - {amps: [a, b], read: 1}
  - {look: strap@tray, read: good}
  - {repaired: strap}
  - {repaired: {part: strapp, too: x}}
"""
BAD_SAID = """\
1:12: the complaint is no text, write it in your own words
2:1: unknown key `reading`, did you mean readings?
4:14: no point `charger_inn`, did you mean charger_in?
4:47: no state `engine_runing`, did you mean engine_running?
4:71: `92 V` has lost its beginning, in braces a comma separates: write a decimal point, or the value in quotes
5:25: `feed_fuse` is a part, not a point, its points are start_pos, fuse_load
5:65: A is no unit of voltage, use V or mV
6:12: no part `feed@charger_in`, write `feed` without the point
6:57: MA may mean milli or mega, write mA or A
7:35: ohms are never read in at_rest, write when: isolated, with all leads off
7:50: `good` is no answer here, write a number in ohm, OL, unsteady or skipped
8:15: `lamp` is of kind load and has no lugs, only cables and fuses have one at each end
8:32: V is no unit of temperature, use degC or degF
9:12: no lamp `chargin`, did you mean charging?
9:27: `true` is no answer here, write on, off, flashing, cycling or skipped
10:29: `blwon` is no answer here, did you mean blown?
11:11: `feed` names no end, write PART@POINT, for example feed@fuse_load
12:24: no fault `open_circit`, did you mean open_circuit?
12:54: `strap` has no end `trai`, did you mean tray?
12:61: `volts` beside a repair, write the reading as an entry of its own
13:13: volts between these points mean nothing in isolated, the leads are off: read ohms, or volts across the two \
posts of one battery
14:37: two quantities in one reading, write one of volts, amps, ohms, ripple, celsius, lamp, look, smell, works, tug, \
wiggle, load_test, gravity
15:15: `house` is a closed agm battery, a hydrometer is for cells that can be opened
16:13: `charger` is of kind charger, this is read of a load or a starter
16:29: a test lamp does not read works, leave `meter` out, or read volts
17:5: this is no reading, write for example {volts: [charger_in, charger_neg], when: engine_running, read: 11.92 V}
18:5: no quantity, write one of volts, amps, ohms, ripple, celsius, lamp, look, smell, works, tug, wiggle, load_test, \
gravity, for example volts: [charger_in, charger_neg]
19:20: both places are the same, write two different places
19:27: unknown key `wehn`, did you mean when?
19:48: an anchor `&a`, write the value without it
20:13: `volts` needs two places, write volts: [A, B]
20:27: `.nan` is no answer here, write a number in V, OL, unsteady or skipped
21:11: `feed@tray` does not exist, the ends of `feed` are fuse_load and charger_in
22:6: a jumper and a swap at once, fit one, read, then the other
22:12: no part `feed_fus`, did you mean feed_fuse?
23:38: no instrument `tset_lamp`, did you mean test_lamp?
23:55: ripple is never negative, write the AC volts the meter shows
24:12: `amps` is read at one place, write amps: PART
25:12: `strap` is of kind bond and has no lugs, only cables and fuses have one at each end
26:16: this is no repair, write repaired: {fault: open_circuit, part: tray_strap, at: null}
27:6: `fault` is missing, write fault: and the id of the fault that was mended
27:23: no part `strapp`, did you mean strap?
27:31: unknown key `too`, did you mean to?
"""


def test_every_defect_at_once_with_its_place(tmp_path: Path, van: Installation) -> None:
    found = problems(tmp_path, van, BAD, faults=["open_circuit", "blown"])
    assert found == BAD_SAID.splitlines()


@pytest.mark.parametrize(
    ("pair", "said"),
    [
        ("[start_pos, fuse_load]", "this jumper bridges the fuse `feed_fuse`"),
        ("[fuse_load, start_pos]", "this jumper bridges the fuse `feed_fuse`"),
        ("[feed_fuse@start_pos, feed_fuse@fuse_load]", "this jumper bridges the fuse `feed_fuse`"),
        ("[start_pos, feed@fuse_load]", "this jumper bridges the fuse `feed_fuse`"),
        ("[start_pos, charger_in]", "this jumper bridges the fuse `feed_fuse`"),
        ("[charger_in, charger_neg]", "this jumper joins positive to negative"),
        ("[start_pos, chassis]", "this jumper joins positive to negative"),
        ("[house_feed@house_pos, tray]", "this jumper joins positive to negative"),
        ("[fuse_load, house_earth@house_neg]", "this jumper joins positive to negative"),
    ],
)
def test_jumpers_refused(tmp_path: Path, van: Installation, pair: str, said: str) -> None:
    message = one(tmp_path, van, f"{{jumper: {pair}, lamp: charging, when: engine_running, read: on}}")
    assert message.startswith(f"2:14: {said}, ")


@pytest.mark.parametrize(
    "pair",
    ["[tray, chassis]", "[fuse_load, charger_in]", "[charger_in, feed@charger_in]", "[start_pos, feed_fuse@start_pos]",
     "[charger_neg, house_neg]", "[charger_out, house_pos]"],
)
def test_jumpers_taken(tmp_path: Path, van: Installation, pair: str) -> None:
    load(tmp_path, van, f"readings:\n  - {{jumper: {pair}, lamp: charging, when: engine_running, read: on}}\n")


def test_two_chargers_need_the_name_of_the_part(tmp_path: Path, van: Installation) -> None:
    second = van.parts["charger"].model_copy(update={"input": "house_pos", "lamps": {"charging": {}, "fault": {}}})
    two = van.model_copy(update={"parts": {**van.parts, "second": second}})
    assert one(tmp_path, two, "{lamp: charging, read: on}") == (
        "2:12: `charging` is a lamp of several chargers, write charger.charging or second.charging"
    )
    load(tmp_path, two, "readings:\n  - {lamp: second.charging, read: on}\n  - {lamp: fault, read: on}\n")
    none = van.model_copy(update={"parts": {key: part for key, part in van.parts.items() if key != "charger"}})
    assert "there is no charger here" in one(tmp_path, none, "{lamp: charging, read: on}")


def test_beside_other_keys(van: Installation) -> None:
    document = yaml_document(
        "source: own\ncomplaint: flat\nreadings: [{volts: [tray, chassis], read: 0}]\ncase: {readings: [{}]}\n",
        "w.yaml",
    )
    assert readings_from_document(document, van).complaint == "flat"
    with pytest.raises(BadInput, match=r"^w.yaml:4:19: no quantity"):
        readings_from_document(document, van, ("case",))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("- a\n", "1:1: this is no set of readings, write complaint: and readings:"),
        ("readings: 7\n", "1:11: `readings` is no list, write one line for each, beginning with a dash"),
        (f"complaint: {'x' * 2001}\n", "1:12: the complaint is too long, say it in 2000 characters"),
        ("readings: [" + "{look: strap, read: good}, " * 5001 + "]\n", "1:135012: more than 5000 readings, "
         "keep those that matter"),
    ],
)
def test_whole_files_refused(tmp_path: Path, van: Installation, text: str, said: str) -> None:
    assert problems(tmp_path, van, text) == [said]

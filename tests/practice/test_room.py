"""The room: what the meter shows, what wrong use shows, what it costs, what is refused."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.fault import FaultAt
from diagnose.model.practice import Act
from diagnose.model.reading import Read, Take
from diagnose.practice.game import vehicle_of
from diagnose.practice.room import Room
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.store.installations import load_layout
from tests.inference.engines import TOOLS, rule_base

LAYOUT = "crew_cab_tray"
RUNNING = "engine_running"


def room(*faults: FaultAt, tools: Sequence[str] = TOOLS, lies: dict[Take, Read] | None = None) -> Room:
    rules, tables = rule_base()
    hidden = [Hypothesis(f, rules.faults[f.fault], 1.0) for f in faults]
    return Room(vehicle_of(load_layout(LAYOUT), rules, tables, hidden, 7), tools, 7, lies)


def volts(a: str, b: str, when: str = RUNNING) -> Act:
    return Act("measure", "", Take("volts", (a, b), when))


def test_the_clock_follows_the_table_of_minutes() -> None:
    here = room()
    inside = here.vehicle.installation.points["charger_in"].access.mid
    assert here.do(volts("start_pos", "start_neg")).minutes == 2.0  # one for the state, one for the test
    assert here.do(volts("start_pos", "start_neg")).minutes == 1.0
    assert here.do(volts("charger_in", "charger_neg")).minutes == 1.0 + inside
    assert here.do(volts("charger_in", "charger_neg", "loaded")).minutes == 2.0
    assert here.do(Act("state", "", state="loaded")).minutes == 0.0
    assert here.do(Act("jumper", "", pair=("tray", "chassis"))).minutes == 2.0
    assert here.do(volts("tray", "chassis", "loaded")).minutes == 1.0
    assert here.do(Act("measure", "", Take("look", ("input_fuse",), "loaded"))).minutes == 0.5


def test_ohms_on_a_live_circuit_mean_nothing_and_are_not_weighed() -> None:
    here = room()
    step = here.do(Act("measure", "", Take("ohms", ("start_pos", "charger_in"), RUNNING)))
    assert step.read is not None
    assert step.read.kind in ("over_range", "unsteady")
    assert "invalid" in step.flags
    assert "dead" in step.lessons[0]
    assert here.readings == []
    dead = here.do(Act("measure", "", Take("ohms", ("tray", "chassis"), "isolated")))
    assert dead.read is not None
    assert dead.read.value is not None
    assert dead.read.value < 1.0
    assert dead.flags == ()


def test_a_clamp_that_was_not_zeroed_is_off_and_then_is_not() -> None:
    here, act = room(), Act("measure", "", Take("amps", ("input_cable",), RUNNING))
    off = here.do(act)
    here.do(Act("zero", ""))
    right = here.do(act)
    assert "invalid" in off.flags
    assert right.flags == ()
    assert off.read is not None
    assert right.read is not None
    assert 0.4 <= abs((off.read.value or 0.0) - (right.read.value or 0.0)) <= 1.2


def test_a_drop_without_load_is_a_lesson_and_volts_at_a_battery_are_not() -> None:
    here = room(FaultAt("high_resistance", "tray_strap", None, None, 0.09))
    assert "invalid" in here.do(volts("tray", "chassis", "at_rest")).flags
    assert here.do(volts("house_pos", "house_neg", "at_rest")).flags == ()
    assert here.do(volts("tray", "chassis")).flags == ()


def test_a_broken_wire_shows_a_ghost_and_an_open_strap_over_range() -> None:
    here = room(FaultAt("open_circuit", "ignition_lead", "charger_ign"))
    ghost = here.do(volts("charger_ign", "charger_neg", "key_on")).read
    assert ghost is not None
    assert ghost.value is not None
    assert abs(ghost.value) < 6.0
    strap = room(FaultAt("open_circuit", "tray_strap"))
    read = strap.do(Act("measure", "", Take("ohms", ("tray", "chassis"), "isolated"))).read
    assert read is not None
    assert read.kind == "over_range"


def test_unsafe_acts_are_not_done() -> None:
    here = room()
    step = here.do(Act("jumper", "", pair=("start_pos", "input_fuse_load"), danger="this jumper bridges a fuse"))
    assert "unsafe" in step.flags
    assert here.jumper is None
    assert step.minutes == 0.0


def test_after_a_danger_nothing_more_is_measured() -> None:
    here = room(FaultAt("reversed", "house_battery"))
    assert "danger" in here.do(volts("house_pos", "house_neg", "at_rest")).flags
    assert "unsafe" in here.do(volts("house_pos", "house_neg", "at_rest")).flags


def test_a_tool_that_is_not_there_takes_no_time() -> None:
    here = room(tools=("eyes",))
    step = here.do(volts("tray", "chassis"))
    assert step.read is None
    assert step.minutes == 0.0


def test_a_lie_is_told_once() -> None:
    take = Take("volts", ("start_pos", "start_neg"), RUNNING)
    here = room(lies={take: Read("number", "1.37 V", 1.37)})
    first, second = (here.do(Act("measure", "", take)).read for _ in range(2))
    assert first is not None
    assert second is not None
    assert first.value == 1.37
    assert second.value is not None
    assert 13.0 < second.value < 15.0


def test_a_repair_mends_its_place_alone() -> None:
    strap, fuse = FaultAt("open_circuit", "tray_strap"), FaultAt("blown", "lights_fuse")
    here = room(strap, fuse)
    here.do(Act("repair", "", named=(FaultAt("high_resistance", "tray_strap"),)))
    assert [h.fault for h in here.vehicle.faults] == [fuse]

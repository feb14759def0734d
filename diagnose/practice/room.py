"""The room in which a trainee acts: a vehicle with a hidden fault, its state, what is fitted, and a clock.

An act goes in and a step comes out, with what was read, what it took, and what is to be said. It knows no engine, keeps
no score and opens no file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.inference.candidates import minutes_of
from diagnose.inference.danger import dangers
from diagnose.model.fault import FaultAt
from diagnose.model.practice import Act, Step
from diagnose.model.reading import Read, Reading, Take
from diagnose.practice.wrong_use import drop_without_load, ohms_on_live, unzeroed_clamp
from diagnose.session.cautions import for_repair, for_take
from diagnose.simulation.vehicle import SimulatedVehicle

__all__ = ["Room"]

WORDY = ("look", "smell", "tug", "wiggle", "works", "lamp")


class Room:
    """One case under way; `readings` are those an engine may weigh: what was invalid is not among them."""

    def __init__(
        self, vehicle: SimulatedVehicle, tools: Sequence[str], case: int, lies: Mapping[Take, Read] | None = None
    ) -> None:
        """Open the room: everything off, nothing fitted, the clamp not zeroed."""
        self.vehicle, self.tools, self._case = vehicle, tuple(tools), case
        self._lies = dict(lies or {})
        self.state: str | None = None
        self.jumper: tuple[str, str] | None = None
        self.swap: str | None = None
        self._zones: set[str] = set()
        self._zeroed = self._fitted_now = False
        self.clock = 0.0
        self.steps: list[Step] = []
        self.readings: list[Reading] = []
        self.danger = ""
        self.over = False

    def do(self, act: Act) -> Step:
        """Do one act and return what came of it."""
        cautions, lessons, flags = self._before(act)
        read, minutes = None, 0.0
        if "unsafe" not in flags and act.kind in _KINDS:
            read, minutes, learned, marks = _KINDS[act.kind](self, act)
            lessons += learned
            flags += marks
        self.clock += minutes
        step = Step(
            len(self.steps) + 1, act, read, round(minutes, 2), round(self.clock, 2), tuple(cautions), tuple(lessons),
            tuple(flags),
        )  # fmt: skip
        self.steps.append(step)
        return step

    def _before(self, act: Act) -> tuple[list[str], list[str], list[str]]:
        """Return the cautions that precede an act, and whether it is refused as unsafe."""
        v = self.vehicle
        ids: Sequence[str] = ()
        take = self._full(act.take) if act.take is not None else None
        if take is not None:
            ids = for_take(take, v.installation, v.rules)
        elif act.kind == "repair" and act.named:
            ids = for_repair(act.named[0], v.installation, v.rules)
        elif act.kind in ("state", "jumper", "swap"):
            when = act.state or self.state or "at_rest"
            fitted = Take("volts", ("", ""), when, jumper=act.pair, swap=act.part or None)
            ids = for_take(fitted, v.installation, v.rules)
        cautions = list(ids)
        if act.danger:
            return cautions, [f"Not done, it is dangerous: {act.danger}"], ["unsafe"]
        if self.danger and act.kind in ("measure", "state", "jumper", "swap", "repair", "zero"):
            return cautions, [f"Not done. A danger was read before: {self.danger}"], ["unsafe"]
        return cautions, [], []

    def _full(self, take: Take) -> Take:
        """Return a test with the state that holds and what is fitted."""
        return take._replace(when=take.when or self.state or "at_rest", jumper=self.jumper, swap=self.swap)

    def _measure(self, act: Act) -> tuple[Read | None, float, list[str], list[str]]:
        assert act.take is not None
        take, v = self._full(act.take), self.vehicle
        lacking = [t for t in v.rules.tests[take.quantity].tools if t not in self.tools]
        if take.meter == "test_lamp":
            lacking = [] if "test_lamp" in self.tools else ["test_lamp"]
        if lacking:
            return None, 0.0, [f"There is no {lacking[0].replace('_', ' ')} here."], []
        minutes = self._minutes(take)
        self.state = take.when
        if take.quantity == "ohms" and take.when != "isolated":
            misuse = ohms_on_live(self._volts(take), self._case)
            return misuse.read, minutes, [misuse.lesson], ["invalid"]
        if take in self._lies:
            read = self._lies.pop(take)
            self.readings.append(Reading(take, read))
            return read, minutes, [], ["lied"]
        read = v.told(take)
        if read.kind == "skipped":
            return read, minutes, ["Nothing steady can be read in this state."], []
        if take.quantity == "amps" and not self._zeroed:
            misuse = unzeroed_clamp(read, self._case)
            return misuse.read, minutes, [misuse.lesson], ["invalid"]
        lesson = drop_without_load(take, read, v.installation)
        if lesson:
            return read, minutes, [lesson], ["invalid"]
        self.readings.append(Reading(take, read))
        found = dangers(self.readings[-1:], v.installation, v.tables)
        if found:
            self.danger = found[0].partition(": ")[2]
            return read, minutes, [f"DANGER: {self.danger}"], ["danger"]
        return read, minutes, [], []

    def _volts(self, take: Take) -> float:
        try:
            return self.vehicle.shown(Take("volts", take.where, take.when)).high
        except RuntimeError:
            return 0.0

    def _minutes(self, take: Take) -> float:
        """Return the minutes of a test; what is fitted was charged when it was fitted."""
        v = self.vehicle
        extra = (v.tables.number("minutes", "change_of_state"), 0.0)
        base = v.rules.tests[take.quantity].minutes
        plain = take._replace(jumper=None, swap=None)
        minutes = minutes_of(plain, base, v.installation, self.state, frozenset(self._zones), extra)
        for place in take.where:
            point = place.partition("@")[2] or place
            if point in v.installation.points:
                self._zones.add(v.installation.points[point].zone or point)
        return minutes

    def _change(self, act: Act) -> tuple[Read | None, float, list[str], list[str]]:
        minutes = 0.0 if act.state == self.state else self.vehicle.tables.number("minutes", "change_of_state")
        self.state = act.state
        return None, minutes, [], []

    def _fit(self, act: Act) -> tuple[Read | None, float, list[str], list[str]]:
        if act.kind == "jumper":
            self.jumper, self.swap = act.pair, None
        else:
            self.swap, self.jumper = act.part, None
        return None, self.vehicle.tables.number("minutes", "jumper_or_swap"), [], []

    def _remove(self, act: Act) -> tuple[Read | None, float, list[str], list[str]]:
        self.jumper = self.swap = None
        return None, 0.0, [], []

    def _zero(self, act: Act) -> tuple[Read | None, float, list[str], list[str]]:
        if "clamp" not in self.tools:
            return None, 0.0, ["There is no clamp here."], []
        self._zeroed = True
        return None, 0.0, [], []

    def _repair(self, act: Act) -> tuple[Read | None, float, list[str], list[str]]:
        fault: FaultAt = act.named[0]
        self.vehicle = self.vehicle.mended(fault)
        self.jumper = self.swap = None
        self.readings.append(Reading(None, None, fault._replace(size=None)))
        return None, 0.0, [], []

    def _stop(self, act: Act) -> tuple[Read | None, float, list[str], list[str]]:
        self.over = True
        return None, 0.0, [], []


_KINDS = {
    "measure": Room._measure, "state": Room._change, "jumper": Room._fit, "swap": Room._fit, "remove": Room._remove,
    "zero": Room._zero, "repair": Room._repair, "stop": Room._stop,
}  # fmt: skip

"""A small installation, the plan of a small run, and hand-made rankings."""

from __future__ import annotations

from functools import cache

from diagnose.evaluation.population import Garage, Story
from diagnose.evaluation.run import Plan
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.ranking import Entry, Ranking, Stop
from diagnose.store.textbook import load_textbook
from tests.inference.engines import TOOLS, rule_base

__all__ = ["TRAY", "entry", "garage", "plan", "ranking", "small_installation", "story"]

TRAY = FaultAt("open_circuit", "tray_strap")


def story(sound: float = 0.0, wrong: float = 0.0, faults: int = 1) -> Story:
    return Story(sound, wrong, faults, TOOLS)


@cache
def small_installation() -> Installation:
    """Return a charger between two batteries, and a light."""
    parts = {
        "start_battery": {"kind": "battery", "pos": "start_pos", "neg": "chassis", "chemistry": "flooded",
                          "capacity": "75 Ah"},
        "house_battery": {"kind": "battery", "pos": "house_pos", "neg": "chassis", "chemistry": "agm",
                          "capacity": "100 Ah"},
        "alternator": {"kind": "alternator", "pos": "start_pos", "neg": "chassis", "regulation": "fixed",
                       "voltage": "14.2 V", "rating": "90 A"},
        "input_fuse": {"kind": "fuse", "ends": ["start_pos", "charger_in"], "rating": "40 A", "style": "bolted"},
        "output_cable": {"kind": "cable", "ends": ["charger_out", "house_pos"], "area": "10 mm2", "length": "1 m"},
        "charger": {"kind": "charger", "input": "charger_in", "output": "charger_out", "negative": "chassis",
                    "rating": "20 A", "profiles": [{"name": "AGM", "voltage": "14.7 V"}], "profile": "AGM"},
        "light": {"kind": "load", "pos": "house_pos", "neg": "chassis", "resistance": "4 ohm"},
    }  # fmt: skip
    return Installation.model_validate({"title": "a small vehicle", "parts": parts})


@cache
def garage(told: Story | None = None, seed: int = 5) -> Garage:
    return Garage("small", small_installation(), *rule_base(), seed, told or story())


def plan(vehicles: int, players: tuple[str, ...] = ("engine",), told: Story | None = None, seed: int = 7) -> Plan:
    """Return a run of the small vehicle."""
    rules, tables = rule_base()
    return Plan((("small", small_installation()),), rules, tables, vehicles, seed, told or story(), players,
                order=load_textbook())  # fmt: skip


def entry(fault: FaultAt, chance: float, convicted: bool = False, beside: tuple[FaultAt, ...] = (),
          alike: tuple[FaultAt, ...] = ()) -> Entry:  # fmt: skip
    return Entry(fault, fault.fault, chance, 0.0, None, convicted, (), (), "", "", beside, alike)


def ranking(*entries: Entry, sound: float = 0.0, unlisted: float = 0.0, stop: str | None = None) -> Ranking:
    return Ranking(1, entries, sound, (), unlisted, (), (), None if stop is None else Stop(stop, ""))

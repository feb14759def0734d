"""What whole tasks take within a process: a check, a script compiled, a vehicle of an evaluation: processor time.

Everything is read and imported before the clock runs; the engines are cold.
"""

from __future__ import annotations

from collections.abc import Iterator
from time import process_time

from diagnose.design_check.check import CHECKS, design_of
from diagnose.evaluation.population import Story
from diagnose.evaluation.run import Plan, run
from diagnose.model.checks import Assumptions
from diagnose.scripts.compiling import Order, Sources, compile_script
from diagnose.store.checks import load_checks
from diagnose.store.script_words import load_script_words
from tests.circuit.random_faults import layout
from tests.inference.engines import TOOLS, rule_base

__all__ = ["figures"]

LAYOUT = "crew_cab_tray"
ORDER = Order("does not charge while driving", ("eyes", "hands"), ("covers", "engine"), 5, True, 1)
VEHICLES = 5


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    installation, (rules, tables) = layout(LAYOUT), rule_base()
    checks = load_checks(tables)
    begun = process_time()
    design = design_of(installation, tables, checks, Assumptions((), None, 2.0, 4.0, -10.0))
    lines = [line for check in CHECKS.values() for line in check(design)]
    yield f"check of `{LAYOUT}`, {len(lines)} lines", f"{1e3 * (process_time() - begun):.0f} ms", ""
    words = load_script_words()
    begun = process_time()
    script = compile_script(Sources(installation, rules, tables, words), ORDER)
    yield f"script of `{LAYOUT}`, {ORDER.depth} questions deep, {len(script.steps)} steps", _seconds(begun), ""
    plan = Plan(((LAYOUT, installation),), rules, tables, VEHICLES, 1, Story(0.0, 0.0, 1, TOOLS))
    begun = process_time()
    run(plan, 1)
    took = (process_time() - begun) / VEHICLES
    yield f"evaluate, a vehicle of `{LAYOUT}` played to its end, mean of {VEHICLES}", f"{took:.1f} s", ""


def _seconds(begun: float) -> str:
    return f"{process_time() - begun:.1f} s"

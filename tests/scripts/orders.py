"""Scripts made for tests, each once; and what is asked of every one."""

from __future__ import annotations

from functools import cache

from diagnose.model.script import Script
from diagnose.scripts.compiling import Order, Sources, compile_script
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.rules import load_rules
from diagnose.store.script_words import load_script_words
from diagnose.store.tables import load_tables

__all__ = ["EYES", "METER", "POCKET", "made", "ordered", "sources"]

EYES, METER, POCKET = ("eyes", "hands"), ("eyes", "hands", "multimeter"), ("multimeter", "clamp")


@cache
def sources(layout: str) -> Sources:
    """Return what scripts of a layout are made from."""
    return Sources(load_layout(layout), load_rules(), load_tables(rules_folder()), load_script_words())


def ordered(tools: tuple[str, ...], depth: int = 8, allowed: tuple[str, ...] = ("covers", "engine")) -> Order:
    """Return an order for one complaint."""
    return Order("no_charge_driving", tools, allowed, depth, "eyes" in tools)


@cache
def made(
    layout: str, tools: tuple[str, ...], depth: int = 8, allowed: tuple[str, ...] = ("covers", "engine")
) -> Script:
    """Return a script."""
    return compile_script(sources(layout), ordered(tools, depth, allowed))

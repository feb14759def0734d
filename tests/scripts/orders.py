"""Scripts made for tests, each once; and what is asked of every one."""

from __future__ import annotations

from functools import cache

from diagnose.model.script import Script
from diagnose.scripts.compiling import Order, Sources, compile_script
from diagnose.scripts.versions import matters_in, versions_of
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.rules import load_rules
from diagnose.store.script_words import load_script_words
from diagnose.store.tables import load_tables
from diagnose.store.unknowns import load_unknowns

__all__ = ["COMPLAINT", "EYES", "LAMP", "METER", "POCKET", "made", "open_sources", "ordered", "sources"]

#: what every script of these tests is about
COMPLAINT = "no_charge_driving"
EYES, METER, POCKET = ("eyes", "hands"), ("eyes", "hands", "multimeter"), ("multimeter", "clamp")
LAMP = ("eyes", "hands", "test_lamp")


@cache
def sources(layout: str) -> Sources:
    """Return what scripts of a layout are made from."""
    return Sources(load_layout(layout), load_rules(), load_tables(rules_folder()), load_script_words())


def ordered(tools: tuple[str, ...], depth: int = 8, allowed: tuple[str, ...] = ("covers", "engine")) -> Order:
    """Return an order for one complaint."""
    return Order(COMPLAINT, tools, allowed, depth, "eyes" in tools)


@cache
def made(
    layout: str, tools: tuple[str, ...], depth: int = 8, allowed: tuple[str, ...] = ("covers", "engine")
) -> Script:
    """Return a script; of `open LAYOUT`, one that asks for all that may be unknown of a layout."""
    whole = open_sources(layout.removeprefix("open ")) if layout.startswith("open ") else sources(layout)
    return compile_script(whole, ordered(tools, depth, allowed))


@cache
def open_sources(layout: str, named: tuple[str, ...] | None = None) -> Sources:
    """Return sources with some unknowns open, all that the layout has parts for if none are named."""
    told = sources(layout)
    chosen = {
        name: one for name, one in load_unknowns().items()
        if matters_in(one, told.installation) and (named is None or name in named)
    }  # fmt: skip
    return told._replace(unknowns=chosen, versions=versions_of(told.installation, chosen))

"""How long a script takes to compile for the largest layout, and how large its page is: processor time, bytes."""

from __future__ import annotations

from collections.abc import Iterator
from time import process_time

from diagnose.present.script_page import script_page
from diagnose.scripts.compiling import compile_script
from diagnose.store.installations import layout_ids
from tests.circuit.random_faults import layout
from tests.scripts.orders import METER, POCKET, ordered, sources

__all__ = ["figures"]


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    largest = max(layout_ids(), key=lambda name: (len(layout(name).parts), name))
    for what, tools in (("an owner with a meter", METER), ("an installer, pocket page", POCKET)):
        told, begun = sources(largest), process_time()
        script = compile_script(told, ordered(tools))
        spent = process_time() - begun
        yield f"script of `{largest}` at depth 8 for {what}", f"{spent:.1f} s", "20 s"
        yield f"its page for {what}", f"{len(script_page(script).encode()) / 1000:.0f} kB", "400 kB"

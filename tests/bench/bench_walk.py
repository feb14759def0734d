"""How long a person waits in a walk from an answer to the next question: processor time.

The process is warm, and has worked ahead while the reading was taken, as it does at a terminal.
"""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median
from time import process_time

from diagnose.cli.walk_warming import START
from diagnose.session.steps import Finding
from diagnose.session.walk import Session
from diagnose.store.installations import layout_ids
from tests.circuit.random_faults import layout
from tests.session.drivers import Bench, adviser, hypothesis

__all__ = ["figures"]

#: layout -> the fault and the vehicle of its walk
WALKS = {"crew_cab_tray": ("high_resistance tray_strap", 3)}


def waits(name: str, label: str, seed: int) -> list[float]:
    """Return the processor time [s] from each answer to the next question, once the first test is asked for."""
    bench = Bench(name, hypothesis(name, label), seed)
    session, found = Session(adviser(name)), []
    session.adviser.warm()
    while not isinstance(session.step, Finding):
        event, asked = bench.event(session.step), session.facts.state
        if (work := session.ahead()) is not None and asked not in START:
            work()
        begun = process_time()
        session.feed(event)
        if asked in ("test", "proof", "again", "doubt"):
            found.append(process_time() - begun)
    return found


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    largest = max(layout_ids(), key=lambda name: (len(layout(name).parts), name))
    fault = next(h.label for h in adviser(largest).engine.hypotheses if "fuse" in h.label)
    for name, (label, seed) in {**WALKS, largest: WALKS.get(largest, (fault, 3))}.items():
        found = waits(name, label, seed)
        yield f"answer to the next question, `{name}`, median", f"{1e3 * median(found):.0f} ms", "150 ms"
        yield f"answer to the next question, `{name}`, longest", f"{1e3 * max(found):.0f} ms", ""

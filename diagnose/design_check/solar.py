"""Solar: the open-circuit voltage of the panels in the cold against what the charger's port stands.

The rule goes from a design to its lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.design_check.design import Design
from diagnose.design_check.walks import reach
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["panel_volts_in_cold"]


def panel_volts_in_cold(design: Design) -> Iterator[CheckLine]:
    """On a cold bright morning the panels stay within what the charger's port stands."""
    rule = "panel_volts_in_cold"
    slope, reference = design.limit(rule, "slope"), 25.0
    for name, charger in design.parts("charger").items():
        if charger.solar is None:
            continue
        strings = _strings(design, charger)
        if not strings:
            yield design.line(rule, "LOOK", name, None, None, "V", f"no panel is joined to {charger.solar}")
            continue
        panels: Any = design.installation.parts
        warm, string = max((sum(panels[p].open_circuit.high for p in string), string) for string in strings)
        cold = warm * (1.0 + slope * (design.assumed.coldest - reference))
        stated = charger.solar_limit is not None
        limit = charger.solar_limit.low if stated else design.limit(rule, "port")
        verdict: Verdict = "FAIL" if cold > limit else "PASS" if stated else "LOOK"
        says = f"{' and '.join(string)}: {cold:.1f} V open at {design.assumed.coldest:g} degC; "
        says += f"its solar port stands {limit:g} V"
        says += "" if stated else ", a usual figure: find its own"
        yield design.line(rule, verdict, name, cold, limit, "V", says, (name, *string), "slope" if stated else "port")


def _strings(design: Design, charger: Any) -> list[tuple[str, ...]]:
    """Return the panels in a row between a charger's solar input and its negative, one row for each panel there."""
    panels = design.parts("panel")
    rows: list[tuple[str, ...]] = []
    waiting: list[tuple[str, tuple[str, ...]]] = [(charger.solar, ())]
    while waiting:
        point, row = waiting.pop()
        reached = reach(design.net, point)
        if row and charger.negative in reached:
            rows.append(row)
            continue
        waiting += [(p.neg, (*row, n)) for n, p in panels.items() if p.pos in reached and n not in row]
        if row and not any(p.pos in reached and n not in row for n, p in panels.items()):
            rows.append(row)
    return rows

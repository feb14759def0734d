"""Draws the states of a walk from the table of `transitions`, as text that pages can show as a picture.

It must not know a state that the table does not have.
"""

from __future__ import annotations

from diagnose.session.transitions import ENDS, FORKS, STATES, TABLE

__all__ = ["diagram"]


def diagram() -> str:
    """Return the picture of all states and ways as a Mermaid state diagram.

    >>> diagram().splitlines()[:2]
    ['stateDiagram-v2', '    [*] --> alarm']
    """
    lines = ["stateDiagram-v2", f"    [*] --> {next(iter(STATES))}"]
    lines += [f"    state {fork} <<choice>>" for fork in FORKS]
    for way in TABLE:
        if way.state != "*":
            said = ", if ".join(part for part in (way.event, way.condition) if part)
            lines.append(f"    {way.state} --> {way.target}" + (f": {said}" if said else ""))
    anywhere = ", ".join(f"{way.event} to {way.target}" for way in TABLE if way.state == "*")
    lines += [f"    {end} --> [*]" for end in ENDS]
    lines.append(f"    note right of alarm: at any state {anywhere}")
    return "\n".join(lines)

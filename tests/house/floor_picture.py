"""Draws the floors from the imports of the code, as text that pages can show as a picture.

    python -m tests.house.floor_picture        draws it anew in DEVELOPERS.md

A way that follows from others is left out: what a folder reaches through another one needs no arrow of its own.
"""

from __future__ import annotations

import re
from pathlib import Path

import networkx

from tests.house.documents import ROOT, read
from tests.house.floors import FLOORS, read_modules

__all__ = ["drawn", "redrawn"]

PICTURE = re.compile(r"```mermaid\nflowchart TD\n.*?```\n", re.DOTALL)


def drawn(package: Path) -> str:
    """Return the picture: the folders of each floor in a box, an arrow from each to what it imports from."""
    modules = read_modules(package)
    folder_of = {module.name: module.folder for module in modules if module.folder}
    graph = networkx.DiGraph()
    graph.add_nodes_from(folder_of.values())
    for module in modules:
        for item in module.imports:
            below = folder_of.get(item.target, "")
            if module.folder and below and below != module.folder:
                graph.add_edge(module.folder, below)
    lines = ["flowchart TD"]
    for floor in sorted(set(FLOORS.values()), reverse=True):
        there = [folder for folder in FLOORS if FLOORS[folder] == floor and folder in graph]
        lines += [f"    subgraph floor{floor}[floor {floor}]", *(f"        {folder}" for folder in there), "    end"]
    arrows = sorted(networkx.transitive_reduction(graph).edges, key=lambda edge: (-FLOORS[edge[0]], edge))
    return "\n".join([*lines, *(f"    {above} --> {below}" for above, below in arrows)])


def redrawn(text: str) -> str:
    """Return the document with a fresh picture in place of the one it has.

    Raises: ValueError where there is not just one.
    """
    if len(PICTURE.findall(text)) != 1:
        raise ValueError("the document wants one picture that begins with `flowchart TD`")
    return PICTURE.sub(lambda _: f"```mermaid\n{drawn(ROOT / 'diagnose')}\n```\n", text)


if __name__ == "__main__":
    (ROOT / "DEVELOPERS.md").write_text(redrawn(read("DEVELOPERS.md")), encoding="utf-8")

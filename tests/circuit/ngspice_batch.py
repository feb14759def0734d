"""Runs many netlists in one ngspice batch process and reads back every number it prints.

ngspice leaves with status 0 whatever happened, so a netlist counts as solved only when all its node voltages came back.
"""

from __future__ import annotations

import math
import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

__all__ = ["OPTIONS", "available", "run_netlists", "settle_netlists"]

#: a hundred times closer than what is compared, and no conductance between nodes that the netlist does not name
OPTIONS = ".options reltol=1e-8 abstol=1e-9 vntol=1e-8 gmin=1e-20 itl1=60"
#: for a look at how a condition is reached in time, which only has to end near it
ROUGH = ".options reltol=1e-3 abstol=1e-6 vntol=1e-5 gmin=1e-20 itl4=60 method=gear maxord=1"
#: Newton's method alone, or failing at once: the ways round a failure are slow and seldom help a curve with corners
PLAIN = "optran 1 0 0 0 0 0"
_LINE = re.compile(r"^(\S+) = ([-+0-9.e]+)$")


def available() -> bool:
    """Return whether the program is installed."""
    return shutil.which("ngspice") is not None


def run_netlists(netlists: Sequence[str]) -> list[dict[str, float] | None]:
    """Return what ngspice finds for each netlist: name of a node or `source#branch` -> volts or amperes; None where
    it failed.
    """
    with tempfile.TemporaryDirectory() as folder:
        lines = ["* all", ".control", "set numdgt=16", "set noaskquit"]
        for k, text in enumerate(netlists):
            Path(folder, f"{k}.cir").write_text(f"* {k}\n{text}\n{OPTIONS}\n.end\n")
            lines += [PLAIN, f"source {k}.cir", "op", f"echo netlist {k}", "print all", "destroy all", "remcirc"]
        lines += ["quit", ".endc", ".end"]
        Path(folder, "all.cir").write_text("\n".join(lines) + "\n")
        done = subprocess.run(
            ["ngspice", "-b", "all.cir"], cwd=folder, capture_output=True, text=True, check=False, timeout=600
        )
    found: list[dict[str, float] | None] = [None] * len(netlists)
    at = -1
    for line in done.stdout.splitlines():
        if line.startswith("netlist "):
            at = int(line.split()[1])
        elif at >= 0 and (match := _LINE.match(line)):
            numbers = found[at] or {}
            numbers[match[1].lower()] = float(match[2])
            found[at] = numbers
    # after a failure the numbers printed may be those of the program's constants
    return [n if n and "planck" not in n and all(map(math.isfinite, n.values())) else None for n in found]


def settle_netlists(netlists: Sequence[str]) -> list[dict[str, float]]:
    """Return where each netlist with capacitors and `.ic` ends after 0.1 s; empty where ngspice gave up."""
    with tempfile.TemporaryDirectory() as folder:
        lines = ["* all", ".control", "set noaskquit", "set filetype=ascii"]
        for k, text in enumerate(netlists):
            Path(folder, f"{k}.cir").write_text(f"* {k}\n{text}\n{ROUGH}\n.end\n")
            lines += [PLAIN, f"source {k}.cir", "tran 100u 100m uic", f"write {k}.raw", "destroy all", "remcirc"]
        lines += ["quit", ".endc", ".end"]
        Path(folder, "all.cir").write_text("\n".join(lines) + "\n")
        subprocess.run(["ngspice", "-b", "all.cir"], cwd=folder, capture_output=True, check=False, timeout=600)
        return [_last_point(Path(folder, f"{k}.raw")) for k in range(len(netlists))]


def _last_point(path: Path) -> dict[str, float]:
    """Return the last point of a plot that ngspice wrote as text."""
    if not path.is_file():
        return {}
    if "Plotname: Transient" not in path.read_text():
        return {}
    head, _, body = path.read_text().partition("Values:\n")
    names = [line.split()[1] for line in head.partition("Variables:\n")[2].splitlines() if line.strip()]
    numbers = body.split()
    last = numbers[-len(names) :]
    return {name[2:-1]: float(value) for name, value in zip(names, last, strict=True) if name.startswith("v(")}

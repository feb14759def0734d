"""Replaces the cases of the library whose level is not the one that the engine works out; run after a change of it.

    .venv/bin/python -m tests.practice.figures --all && .venv/bin/python -m tests.practice.replacing

A case is never edited: one of the same story takes its place, under the next id, and says which it replaces.
"""

from __future__ import annotations

import re
from pathlib import Path

from diagnose.store.practice_cases import case_paths
from diagnose.store.practice_figures import load_figures, write_figures
from diagnose.store.practice_seal import sealed, unsealed
from tests.practice.figures import figures_of, loaded


def next_id(name: str, taken: set[str]) -> str:
    """Return the first free id of the same stem.

    >>> next_id("tray-two-01", {"tray-two-01", "tray-two-02"})
    'tray-two-03'
    """
    stem, _, number = name.rpartition("-")
    free = int(number) + 1
    while f"{stem}-{free:02}" in taken:
        free += 1
    return f"{stem}-{free:02}"


def replaced(text: str, old: str, new: str, level: int) -> str:
    """Return the text of the case that replaces one."""
    text = re.sub(r"^id: .*$", f"id: {new}", text, count=1, flags=re.M)
    text = re.sub(r"^level: .*$", f"level: {level}", text, count=1, flags=re.M)
    if seal := re.search(r"^sealed: (\S+)$", text, flags=re.M):
        return text.replace(seal[0], f"sealed: {sealed(unsealed(seal[1], old) | {'replaces': old}, new)}")
    return re.sub(r"^replaces: .*\n", "", text, flags=re.M).rstrip("\n") + f"\nreplaces: {old}\n"


def replace(path: Path, level: int, taken: set[str]) -> Path:
    """Write the case that replaces one, delete that, and return the file."""
    new = path.with_name(f"{next_id(path.stem, taken)}.yaml")
    new.write_text(replaced(path.read_text(encoding="utf-8"), path.stem, new.stem, level), encoding="utf-8")
    path.unlink()
    return new


def main() -> None:
    """Replace what does not agree with its figures."""
    known = load_figures()
    taken = {path.stem for path in case_paths()}
    for path in case_paths():
        figures = known.get(path.stem)
        if figures is None or figures.level == loaded(path).case.level:
            continue
        new = replace(path, figures.level, taken)
        taken.add(new.stem)
        known.pop(path.stem)
        known[new.stem] = figures_of(loaded(new))  # the vehicles that fit its story are drawn by its id
        print(path.stem, "->", new.stem, flush=True)
    there = {path.stem for path in case_paths()}
    write_figures({name: one for name, one in known.items() if name in there})


if __name__ == "__main__":
    main()

"""Which case of the library is played: the one that fits what is asked for, not yet done ones first."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from diagnose.basics.errors import BadInput, Problem

__all__ = ["done_by", "fitting", "listed", "picked"]


def listed() -> list[tuple[Path, dict[str, Any]]]:
    """Return the cases of the library with their plain data, and the layout of each; none that is kept for exams
    tells its faults.
    """
    from diagnose.store.practice_cases import case_paths
    from diagnose.store.yaml_text import read_yaml

    return [(path, data) for path in case_paths() if isinstance(data := read_yaml(path).data, dict)]


def picked(
    level: int | None, layout: str | None, fault: str | None, seed: int, name: str | None, folder: str | None
) -> Path:
    """Return the file of a case that fits.

    Raises: BadInput where none does.
    """
    fits = [path for path, data in listed() if fitting(data, level, layout, fault) and not data.get("exam")]
    if not fits:
        right = "leave one of them out; `diagnose cases` lists what there is"
        raise BadInput([Problem("--level, --layout, --fault", None, None, "no case of the library fits", right)])
    if name is not None:
        done = done_by(name, folder)
        fits = [path for path in fits if path.stem not in done] or fits
    return fits[(seed * 7919) % len(fits)]


def fitting(data: dict[str, Any], level: int | None, layout: str | None, fault: str | None) -> bool:
    """Return whether a case's plain data fit.

    >>> fitting({"level": 2, "installation": "canopy", "faults": []}, 2, "canopy", None)
    True
    """
    fitted = data.get("installation")
    base = fitted.get("layout") if isinstance(fitted, dict) else fitted
    faults = {f.get("fault") for f in data.get("faults") or () if isinstance(f, dict)}
    return level in (None, data.get("level")) and layout in (None, base) and (fault is None or fault in faults)


def done_by(name: str, folder: str | None) -> set[str]:
    """Return the ids of the cases that somebody has done."""
    import os

    from diagnose.store.practice_progress import load_progress, progress_folder

    return {str(line.get("case")) for line in load_progress(progress_folder(folder, os.environ), name)}

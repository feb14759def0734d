"""Keeps how somebody's practice went: one record a name, a line a case, safe on the disk before it is told.

The folder is the one named, else `DIAGNOSE_PROGRESS`, else `charge-path-diagnose/progress` in the platform's folder for
a person's data. It must not judge what a line means.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from diagnose.basics.errors import BadInput, Problem
from diagnose.model.practice import PracticeCase, Score
from diagnose.store.jobs_record import JobRecord, read_lines
from diagnose.store.platform_folder import data_below

__all__ = ["add_progress", "load_progress", "progress_folder"]



def progress_folder(named: str | None, environment: Mapping[str, str], platform: str = sys.platform) -> Path:
    """Return the folder of progress; makes nothing.

    Raises: BadInput for a person without a home folder who named none.

    >>> progress_folder(None, {"HOME": "/home/kim"}, "linux").as_posix()
    '/home/kim/.local/share/charge-path-diagnose/progress'
    """
    return data_below(named, "--progress", "progress", environment, platform)


def _path(folder: Path, name: str) -> Path:
    if re.fullmatch(r"\w[\w .-]{0,59}", name) is None:
        right = "use letters, digits, blank, dot and dash, at most 60"
        raise BadInput([Problem("--name", None, None, f"`{name[:60]}` is no name to keep progress under", right)])
    return folder / f"{name.strip().replace(' ', '_')}-1.jsonl"


def add_progress(folder: Path, name: str, case: PracticeCase, score: Score, teaches: Sequence[str]) -> Path:
    """Add a line for one case; return the file."""
    path = _path(folder, name)
    line = {
        "case": case.id, "level": case.level, "teaches": list(teaches), "passed": score.passed, "points": score.points,
        "minutes": score.minutes, "best_minutes": score.best_minutes, "invalid": score.invalid,
        "wrong_inferences": score.wrong_inferences, "in_vain": score.parts_swapped_in_vain, "brier": score.brier,
    }  # fmt: skip
    if path.exists():
        with JobRecord.resume(path) as record:
            record.append(line)
    else:
        with JobRecord.begin(folder, path.stem.removesuffix("-1"), {"progress": 1, "name": name}) as record:
            record.append(line)
    return path


def load_progress(folder: Path, name: str) -> tuple[dict[str, Any], ...]:
    """Return the lines of a name, in the order of practice; nothing where there are none."""
    path = _path(folder, name)
    return tuple(read_lines(path).data[1:]) if path.exists() else ()

"""Reads and writes what the engine worked out for the cases of the library: `cases/practice_figures.yaml`.

The digest tells which file the figures are of, so that an edited case shows. It must not work anything out.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import yaml
from pydantic import Field

from diagnose.model.fields import Line, Record
from diagnose.store.data_folder import cases_folder
from diagnose.store.new_file import write_new
from diagnose.store.validation import validated
from diagnose.store.yaml_text import read_yaml

__all__ = ["CaseFigures", "load_figures", "write_figures"]

_FILE = "practice_figures.yaml"
_HEAD = """\
# What the engine worked out for each practice case: written by `python -m tests.practice.figures`, never by hand.
# best_minutes [min] is what the engine's policy takes on the mean of vehicles that fit the story, own_minutes on the
# case's own, textbook_minutes the fixed order on that one; suspects are places that hold 95 % of the belief after the
# complaint, depth the tests of the engine on the case's own vehicle; digest is that of the case's file.
"""


class CaseFigures(Record):
    """The figures of one case; times in minutes."""

    digest: Line
    level: Annotated[int, Field(ge=1, le=5)]
    best_minutes: Annotated[float, Field(gt=0)]
    own_minutes: Annotated[float, Field(gt=0)]
    textbook_minutes: float | None = None
    suspects: int
    depth: int
    vehicles: int
    solved: bool


class _Figures(Record):
    """The file."""

    cases: dict[str, CaseFigures]


def load_figures(folder: Path | None = None) -> dict[str, CaseFigures]:
    """Return the figures by case; nothing where the file is missing."""
    path = (folder or cases_folder()) / _FILE
    if not path.is_file():
        return {}
    return validated(_Figures, read_yaml(path, f"cases/{_FILE}")).cases


def write_figures(figures: dict[str, CaseFigures], folder: Path | None = None) -> None:
    """Write the file anew."""
    data = {"cases": {name: figures[name].model_dump(exclude_none=True) for name in sorted(figures)}}
    text = _HEAD + yaml.safe_dump(data, sort_keys=False, default_flow_style=None, width=118)
    write_new(str((folder or cases_folder()) / _FILE), text, force=True)

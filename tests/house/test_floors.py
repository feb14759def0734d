"""The floor plan holds, and the checker that says so reports each kind of breach on bad samples."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.house.floors import FLOORS, HIDDEN_IMPORT_REASONS, HOMES, breaches, read_modules

PACKAGE = Path(__file__).resolve().parents[2] / "diagnose"

# Raise this as the package grows; it only guards against a checker that no longer sees anything.
FEWEST_IMPORTS = 100

SOUND = {
    "__init__.py": "",
    "__main__.py": "from diagnose.cli.main import run",
    "basics/__init__.py": "",
    "basics/units.py": "import math",
    "model/__init__.py": "",
    "model/parts.py": "from pydantic import BaseModel\nfrom diagnose.basics.units import metre",
    "circuit/__init__.py": "from .solver import solve",
    "circuit/solver.py": "import networkx as nx\nfrom ..model import parts\nfrom diagnose.basics import units",
    "inference/__init__.py": "",
    "inference/rank.py": "import numpy\nfrom diagnose.circuit import solve",
    "simulation/__init__.py": "",
    "simulation/vehicle.py": "import numpy.random",
    "present/__init__.py": "",
    "present/page.py": "import jinja2",
    "store/__init__.py": "",
    "store/files.py": "import yaml",
    "cli/__init__.py": "",
    "cli/main.py": "import typer\n\ndef run():\n    from diagnose.store import files\n    import rich.table",
}


def write_package(folder: Path, changes: dict[str, str]) -> Path:
    package = folder / "diagnose"
    for name, text in {**SOUND, **changes}.items():
        file = package / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    return package


def test_the_package_keeps_the_plan() -> None:
    modules = [module for module in read_modules(PACKAGE) if not module.shown.endswith("__init__.py")]
    assert breaches(PACKAGE, max(FEWEST_IMPORTS, len(modules))) == []


def test_a_sound_sample_has_no_breach(tmp_path: Path) -> None:
    assert breaches(write_package(tmp_path, {}), 7) == []


HIDDEN = "def f():\n    import json"
TYPES_ONLY = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    "


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        pytest.param({"helpers/x.py": ""}, "diagnose/helpers/x.py: folder helpers has no floor", id="unlisted folder"),
        pytest.param({"helpers/deep/x.py": ""}, "folder helpers has no floor", id="unlisted folder, nested"),
        pytest.param({"tools.py": ""}, "diagnose/tools.py: stray module", id="stray module"),
        pytest.param(
            {"model/a.py": "from diagnose.model import b", "model/b.py": "import diagnose.model.a"},
            "cycle of modules: diagnose.model.a, diagnose.model.b",
            id="cycle of two",
        ),
        pytest.param(
            {
                "model/a.py": "from . import b",
                "model/b.py": "from .c import x",
                "model/c.py": TYPES_ONLY + "from .a import y",
            },
            "cycle of modules: diagnose.model.a, diagnose.model.b, diagnose.model.c",
            id="cycle of three, one for types only",
        ),
        pytest.param(
            {"model/a.py": "import diagnose.model.a"},
            "cycle of modules: diagnose.model.a",
            id="cycle of one",
        ),
        pytest.param(
            {"model/a.py": "\nfrom diagnose.circuit import solver"},
            "diagnose/model/a.py:2: upward import of diagnose.circuit.solver (floor 2) from floor 1",
            id="upward",
        ),
        pytest.param(
            {"model/a.py": "from ..circuit import solve"},
            "upward import of diagnose.circuit ",
            id="upward, relative",
        ),
        pytest.param(
            {"model/a.py": TYPES_ONLY + "from diagnose.circuit.solver import solve"},
            "upward import of diagnose.circuit.solver",
            id="upward, for types only",
        ),
        pytest.param({"__init__.py": "from diagnose.basics import units"}, "upward import", id="upward from the top"),
        pytest.param(
            {"cli/a.py": "import diagnose.__main__"},
            "upward import of diagnose.__main__",
            id="upward to main",
        ),
        pytest.param(
            {"inference/a.py": "from diagnose.simulation import vehicle"},
            "sideways import of diagnose.simulation.vehicle from inference, both on floor 4",
            id="sideways",
        ),
        pytest.param({"store/a.py": "from diagnose.present.page import x"}, "sideways import", id="store to present"),
        pytest.param({"present/a.py": "import diagnose.store.files"}, "sideways import", id="present to store"),
        pytest.param({"model/a.py": HIDDEN}, "diagnose/model/a.py:2: import of json hidden in a function", id="hidden"),
        pytest.param({"store/a.py": "async " + HIDDEN}, "hidden in a function", id="hidden, async"),
        pytest.param({"store/a.py": "class A:\n  def f(self):\n    import json"}, "hidden", id="hidden in a method"),
        pytest.param({"store/a.py": "import importlib as i\nx = i.import_module('json')"}, "json hidden", id="by name"),
        pytest.param({"store/a.py": "x = __import__(name)"}, "import of ? hidden", id="by a computed name"),
        pytest.param(
            {"cli/a.py": "def f():\n    import numpy"},
            "third-party import of numpy outside its homes",
            id="hidden, no home",
        ),
        pytest.param(
            {"model/a.py": "import numpy as np"},
            "numpy outside its homes (circuit, ",
            id="third party, no home",
        ),
        pytest.param({"store/a.py": "from rich.table import Table"}, "rich outside", id="third party, from"),
        pytest.param({"circuit/a.py": "import scipy"}, "scipy outside its homes (none)", id="unlisted third party"),
        pytest.param({"__main__.py": "import typer"}, "typer outside its homes", id="third party at the top"),
        pytest.param({"store/a.py": TYPES_ONLY + "import typer"}, "typer outside", id="third party, for types only"),
        pytest.param({"store/a.py": "import diagnose.basics.gone"}, "which does not exist", id="to nowhere"),
    ],
)
def test_each_breach_is_reported(tmp_path: Path, changes: dict[str, str], said: str) -> None:
    found = breaches(write_package(tmp_path, changes), 0)
    assert any(said in breach for breach in found), found
    assert len(found) == 1, found


def test_a_checker_that_sees_too_little_says_so(tmp_path: Path) -> None:
    package = write_package(tmp_path, {})
    assert breaches(package, 1000)[0].startswith("saw only 7 imports within diagnose, expected at least 1000")
    assert "saw only 0" in breaches(tmp_path / "nothing", 1)[0]


def test_every_third_party_home_is_a_floor_and_every_listed_library_a_dependency() -> None:
    assert set().union(*HOMES.values()) | set(HIDDEN_IMPORT_REASONS) <= set(FLOORS)
    wanted = (PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8").lower()
    names = {"yaml": "pyyaml"}
    assert all(f'"{names.get(library, library)}' in wanted for library in HOMES)

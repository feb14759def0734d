"""Rules and cases are found from a wheel, from a source distribution and from an editable checkout.

Each is built and installed into a throwaway environment that borrows the libraries of the running one, so no network is
needed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
TOP = ["diagnose", "rules", "cases", "tests", "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", ".gitignore"]
DATA = ["rules", "cases"]

ASK = """
import sys
import diagnose.store.data_folder as place
sys.stdout.write(f"{place.__file__}\\n{place.rules_folder()}\\n")
"""


def run(*words: str | Path, folder: Path) -> str:
    environment = {key: value for key, value in os.environ.items() if key not in {"PYTHONPATH", "DIAGNOSE_DATA"}}
    command = [str(word) for word in words]
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, stdin=subprocess.DEVNULL
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def data_files(folder: Path) -> set[str]:
    return {file.relative_to(folder).as_posix() for name in DATA for file in (folder / name).rglob("*.yaml")}


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the sources with a file that must not ship; building leaves nothing behind in the real ones."""
    copy = tmp_path_factory.mktemp("sources") / "checkout"
    copy.mkdir()
    for name in TOP:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        elif name != "cases":  # an empty folder is not kept in a checkout
            shutil.copy2(source, copy / name)
    (copy / "rules" / "stray.yaml~").write_text("left by an editor\n", encoding="utf-8")
    return copy


@pytest.fixture(scope="module")
def built(checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with the source distribution and the wheel that was built from it."""
    folder = tmp_path_factory.mktemp("built")
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", folder, checkout, folder=folder)
    return folder


def wheel_in(built: Path) -> Path:
    (wheel,) = built.glob("charge_path_diagnose-*.whl")
    return wheel


def source_distribution_in(built: Path) -> Path:
    (archive,) = built.glob("charge_path_diagnose-*.tar.gz")
    return archive


def install(folder: Path, *what: str | Path) -> tuple[Path, Path, Path]:
    """Install into a new environment and return where it lies, where the module is and where it finds the rules."""
    home = folder / "environment"
    venv.create(home, with_pip=False, symlinks=True)
    python = home / "bin" / "python"
    site = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", folder=folder).strip())
    (site / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    # `--ignore-installed`, because a copy that is installed in the borrowed environment must not count as this one.
    options = ["--quiet", "--no-index", "--no-deps", "--no-build-isolation", "--ignore-installed"]
    run(sys.executable, "-m", "pip", "--python", python, "install", *options, *what, folder=folder)
    module, rules = run(python, "-I", "-c", ASK, folder=folder).splitlines()
    return home, Path(module), Path(rules)


def test_wheel_holds_every_rule_and_case_and_nothing_stray(built: Path) -> None:
    with zipfile.ZipFile(wheel_in(built)) as archive:
        names = archive.namelist()
    held = {name.removeprefix("diagnose/_data/") for name in names if name.startswith("diagnose/_data/")}
    assert {name for name in held if name.endswith(".yaml")} == data_files(ROOT)
    assert "rules/MARKER.yaml" in held
    assert "rules/stray.yaml~" not in held
    assert {name.partition("/")[0] for name in names} == {"diagnose", "charge_path_diagnose-0.1.0.dist-info"}
    assert {file.relative_to(ROOT).as_posix() for file in (ROOT / "diagnose").rglob("*.py")} <= set(names)


def test_source_distribution_holds_what_a_packager_needs(built: Path) -> None:
    with tarfile.open(source_distribution_in(built)) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert data_files(ROOT) <= names
    assert {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "tests/house/test_packaging.py"} <= names
    assert "rules/stray.yaml~" not in names


@pytest.mark.parametrize("form", [wheel_in, source_distribution_in], ids=["wheel", "source distribution"])
def test_installed_copy_finds_its_own_rules(built: Path, tmp_path: Path, form: Callable[[Path], Path]) -> None:
    home, module, rules = install(tmp_path, form(built))
    assert module.is_relative_to(home)
    assert rules == module.parents[1] / "_data" / "rules"
    assert (rules / "MARKER.yaml").is_file()
    assert data_files(rules.parent) == data_files(ROOT)


def test_editable_checkout_finds_the_rules_beside_the_package(checkout: Path, tmp_path: Path) -> None:
    _, module, rules = install(tmp_path, "--editable", checkout)
    assert module == checkout / "diagnose" / "store" / "data_folder.py"
    assert rules == checkout / "rules"
    assert (rules / "MARKER.yaml").is_file()

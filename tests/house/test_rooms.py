"""Rooms stay small and documented, and nothing in the tree speaks of where it was written."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.house.rooms import function_lengths, room_breaches

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "diagnose"

# Bracketed letters keep this file from finding itself.
LEAKS = re.compile(
    r"/w[o]rk/|\bshar[e]d/[a-z_]+(/|\.md)|\.libr[a]ry\b|\bissu[e]s? #?\d|\bsessi[o]ns? \d|co-auth[o]red"
    r"|\bp[y]pi\.|pyth[o]nhosted",
    re.IGNORECASE,
)
TREE = ["README.md", "DEVELOPERS.md", "pyproject.toml", ".gitignore", ".ci", "diagnose", "rules", "cases", "tests"]
TEXTS = {"", ".py", ".md", ".toml", ".yaml", ".json", ".j2", ".css", ".html", ".txt", ".cir"}


def texts() -> list[Path]:
    found = [file for name in TREE for file in [ROOT / name, *(ROOT / name).rglob("*")]]
    return [file for file in found if file.is_file() and file.suffix in TEXTS]


def leaks(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if LEAKS.search(line)]


def test_every_room_keeps_the_rules() -> None:
    assert room_breaches(PACKAGE) == []


def test_nearly_all_functions_are_short() -> None:
    lengths = function_lengths(PACKAGE)
    long = [length for length in lengths if length > 30]
    assert len(long) <= 0.05 * len(lengths), f"{len(long)} of {len(lengths)} functions have more than 30 lines"


def test_no_word_of_the_workplace() -> None:
    files = texts()
    assert len(files) > 20
    found = [f"{file.relative_to(ROOT)}: {line}" for file in files for line in leaks(file.read_text(encoding="utf-8"))]
    assert found == []


BAD = ["see /w" "ork/main", "in shar" "ed/a.md", "as issu" "e 2 says", "Issu" "e #12", "sessi" "on 3 made"]
GOOD = ["the session asks 3 questions", "a shared/own earth", "shares_solar", "work/charge", "one issue: 2 V lost"]


@pytest.mark.parametrize("line", BAD)
def test_the_leak_check_sees(line: str) -> None:
    assert leaks(f"sound\n{line}\n") == [line]


@pytest.mark.parametrize("line", GOOD)
def test_the_leak_check_leaves_the_trade_alone(line: str) -> None:
    assert leaks(line) == []


def write_package(folder: Path, name: str, text: str) -> Path:
    package = folder / "diagnose"
    for below, content in {"basics/b.py": DOC + '__all__ = ["f"]\ndef f(): ...\ndef g(): ...\n', name: text}.items():
        (package / below).parent.mkdir(parents=True, exist_ok=True)
        (package / below).write_text(content, encoding="utf-8")
    return package


DOC = '"""What it is for."""\n'
LONG = "def f():\n" + "    x = 1\n" * 60
DOCUMENTED = '    """One.\n\n    Two.\n    """\n'


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("model/a.py", DOC + "#\n" * 300, "diagnose/model/a.py: 301 lines, at most 300"),
        ("model/a.py", "_x = 1\n", ": no docstring"),
        ("model/__init__.py", "", ": no docstring"),
        ("model/a.py", DOC + "def f(): ...\n", ": public names but no `__all__`"),
        ("model/a.py", DOC + "X: int = 1\n", ": public names but no `__all__`"),
        ("model/a.py", DOC + "from diagnose.basics.b import g\n", "takes g, which diagnose.basics.b does not list"),
        ("model/a.py", DOC + "__all__ = " + repr([f"n{i}" for i in range(9)]), ": 9 public names, at most 8"),
        ("model/a.py", DOC + '__all__ = ["f"]\n' + LONG, ":3: f has 61 lines, at most 60"),
        ("model/a.py", DOC + "_x = open('a')\n", ":2: opens a file, only store may"),
        ("cli/a.py", DOC + "def _f(p):\n    return p.read_text()\n", ":3: opens a file"),
    ],
)
def test_each_breach_is_reported(tmp_path: Path, name: str, text: str, said: str) -> None:
    (found,) = room_breaches(write_package(tmp_path, name, text))
    assert said in found


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("model/a.py", DOC + '__all__ = ["f"]\nfrom json import loads\n' + LONG.replace("    x = 1\n", "", 1)),
        ("model/a.py", DOC + '__all__ = ["f"]\n' + LONG.replace("    x = 1\n", DOCUMENTED, 1)),
        ("model/__init__.py", DOC + "X = 1\n"),
        ("store/a.py", DOC + "_x = open('a')\n"),
        ("model/a.py", DOC + "from diagnose.basics.b import f\n"),
    ],
)
def test_a_sound_room_has_no_breach(tmp_path: Path, name: str, text: str) -> None:
    assert room_breaches(write_package(tmp_path, name, text)) == []

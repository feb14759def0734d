"""Measures the modules of a package: names what is too large, undocumented, unlisted or opens files out of place.

It must not import what it measures: it reads text.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path

__all__ = ["FILE_OPENERS", "function_lengths", "room_breaches"]

LONGEST_MODULE = 300
LONGEST_FUNCTION = 60
MOST_NAMES = 8

FILE_OPENERS = {"store": "its job"}

_TOUCHES_FILES = frozenset({"read_text", "write_text", "read_bytes", "write_bytes"})
_Function = ast.FunctionDef | ast.AsyncFunctionDef


def room_breaches(package: Path) -> list[str]:
    """Return every breach of the room rules below the package folder, in words."""
    trees = {}
    found = []
    for file in sorted(package.rglob("*.py")):
        text = file.read_text(encoding="utf-8")
        below = file.relative_to(package)
        shown = f"{package.name}/{below.as_posix()}"
        tree = trees[shown] = ast.parse(text)
        found += [f"{shown}{breach}" for breach in _size_breaches(tree, len(text.splitlines()))]
        if below.parts[0] not in FILE_OPENERS:
            found += [f"{shown}{breach}" for breach in _file_breaches(tree)]
    listed = {shown: _listed(tree) for shown, tree in trees.items()}
    for shown, tree in trees.items():
        if Path(shown).stem not in {"__init__", "__main__"}:
            found += [f"{shown}{breach}" for breach in _list_breaches(tree, listed[shown])]
        found += [f"{shown}{breach}" for breach in _use_breaches(tree, listed)]
    return found


def function_lengths(package: Path) -> list[int]:
    """Return the length of every function below the package folder [lines without the docstring]."""
    trees = (ast.parse(file.read_text(encoding="utf-8")) for file in package.rglob("*.py"))
    return [_length(node) for tree in trees for node in ast.walk(tree) if isinstance(node, _Function)]


def _size_breaches(tree: ast.Module, lines: int) -> Iterator[str]:
    if lines > LONGEST_MODULE:
        yield f": {lines} lines, at most {LONGEST_MODULE}"
    if not ast.get_docstring(tree):
        yield ": no docstring that says what the module is for"
    for node in ast.walk(tree):
        if isinstance(node, _Function) and _length(node) > LONGEST_FUNCTION:
            yield f":{node.lineno}: {node.name} has {_length(node)} lines, at most {LONGEST_FUNCTION}"


def _file_breaches(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _touches_files(node.func):
            yield f":{node.lineno}: opens a file, only {', '.join(FILE_OPENERS)} may"


def _length(function: _Function) -> int:
    whole = (function.end_lineno or function.lineno) - function.lineno + 1
    first = function.body[0]
    if ast.get_docstring(function, clean=False) is None:
        return whole
    return whole - ((first.end_lineno or first.lineno) - first.lineno + 1)


def _touches_files(function: ast.expr) -> bool:
    if isinstance(function, ast.Name):
        return function.id == "open"
    return isinstance(function, ast.Attribute) and function.attr in _TOUCHES_FILES


def _list_breaches(tree: ast.Module, listed: list[str] | None) -> Iterator[str]:
    defined = set(_defined(tree))
    if listed is None:
        if any(not name.startswith("_") for name in defined):
            yield ": public names but no `__all__`"
        return
    if len(listed) > MOST_NAMES:
        yield f": {len(listed)} public names, at most {MOST_NAMES}"


def _use_breaches(tree: ast.Module, listed: Mapping[str, list[str] | None]) -> Iterator[str]:
    """Yield each name that is taken from a module which does not list it: what others use is public."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and not node.level:
            offered = listed.get(node.module.replace(".", "/") + ".py")
            for alias in node.names if offered is not None else ():
                if alias.name not in offered:
                    yield f":{node.lineno}: takes {alias.name}, which {node.module} does not list in `__all__`"


def _listed(tree: ast.Module) -> list[str] | None:
    for node in tree.body:
        if isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets):
            return list(ast.literal_eval(node.value))
    return None


def _defined(tree: ast.Module) -> Iterator[str]:
    """Yield the names of classes, functions and constants that a module defines; what it imports is not its own."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef | _Function):
            yield node.name
        elif isinstance(node, ast.Assign):
            yield from (target.id for target in node.targets if isinstance(target, ast.Name))
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            yield node.target.id

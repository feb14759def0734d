"""Reads the imports of a package with `ast` and names every breach of the floor plan.

It reads text only and imports nothing of the package, so a broken module can be judged too. It must not decide what a
breach means: the tests do.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import networkx

__all__ = ["FLOORS", "HIDDEN_IMPORT_REASONS", "HOMES", "Import", "Module", "breaches", "read_modules"]

FLOORS: Mapping[str, int] = {
    "basics": 0,
    "model": 1,
    "circuit": 2,
    "prediction": 3,
    "inference": 4,
    "simulation": 4,
    "session": 5,
    "design_check": 6,
    "commissioning": 6,
    "scripts": 6,
    "practice": 6,
    "evaluation": 6,
    "drawing": 6,
    "lint": 6,
    "survey": 6,
    "present": 7,
    "store": 7,
    "cli": 8,
}

HOMES: Mapping[str, frozenset[str]] = {
    "pydantic": frozenset({"model", "store"}),
    "networkx": frozenset({"circuit"}),
    "numpy": frozenset({"circuit", "prediction", "inference", "simulation", "evaluation", "scripts", "commissioning"}),
    "yaml": frozenset({"store"}),
    "rich": frozenset({"present", "cli"}),
    "typer": frozenset({"cli"}),
    "jinja2": frozenset({"present"}),
    "distributed": frozenset({"cli"}),
}

HIDDEN_IMPORT_REASONS: Mapping[str, str] = {"cli": "nothing heavy before a command runs"}

# The two files that may lie at the top: the first below all floors, the second above them.
_TOP_MODULES = {"__init__": -1, "__main__": max(FLOORS.values()) + 1}
_BY_NAME = frozenset({"import_module", "__import__"})


@dataclass(frozen=True)
class Import:
    """One import: the dotted name it asks for, its line, and whether it sits inside a function."""

    target: str
    line: int
    hidden: bool


@dataclass(frozen=True)
class Module:
    """One file: its dotted name, its path as shown, the folder it lives in ('' at the top), and what it imports."""

    name: str
    shown: str
    folder: str
    imports: tuple[Import, ...]

    @property
    def floor(self) -> int | None:
        """Return the floor, or None where the plan has none for it."""
        return FLOORS.get(self.folder) if self.folder else _TOP_MODULES.get(Path(self.shown).stem)


def read_modules(package: Path) -> list[Module]:
    """Return every module below the package folder."""
    files = {file: _dotted(file, package) for file in sorted(package.rglob("*.py"))}
    known = frozenset(files.values())
    modules = []
    for file, name in files.items():
        below = file.relative_to(package)
        inside = name if file.stem == "__init__" else name.rpartition(".")[0]
        imports = _imports(ast.parse(file.read_text(encoding="utf-8")), inside, known)
        folder = below.parts[0] if len(below.parts) > 1 else ""
        modules.append(Module(name, f"{package.name}/{below.as_posix()}", folder, tuple(imports)))
    return modules


def breaches(package: Path, fewest_imports: int) -> list[str]:
    """Return every breach in words; `fewest_imports` is the least number of imports within the package to be seen."""
    modules = read_modules(package)
    by_name = {module.name: module for module in modules}
    found = [breach for module in modules for breach in _place_breaches(module)]
    for module in modules:
        for item in module.imports:
            found += [f"{module.shown}:{item.line}: {text}" for text in _import_breaches(module, item, by_name)]
    found += _cycles(modules, by_name)
    seen = sum(_root(item.target) == package.name for module in modules for item in module.imports)
    if seen < fewest_imports:
        found.append(f"saw only {seen} imports within {package.name}, expected at least {fewest_imports}: blind?")
    return found


def _dotted(file: Path, package: Path) -> str:
    parts = file.relative_to(package.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _root(name: str) -> str:
    return name.partition(".")[0]


def _imports(tree: ast.Module, inside: str, known: frozenset[str]) -> Iterator[Import]:
    """Yield every import of a tree; `inside` is the package that relative names start from."""
    functions = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)
    waiting: list[tuple[ast.AST, bool]] = [(tree, False)]
    while waiting:
        node, hidden = waiting.pop()
        for target in _targets(node, inside, known):
            yield Import(target, getattr(node, "lineno", 0), hidden or isinstance(node, ast.Call))
        hidden = hidden or isinstance(node, functions)
        waiting += [(child, hidden) for child in ast.iter_child_nodes(node)]


def _targets(node: ast.AST, inside: str, known: frozenset[str]) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        base = node.module or ""
        if node.level:
            start = inside.split(".")[: len(inside.split(".")) - node.level + 1]
            base = ".".join([*start, base] if base else start)
        # `from package import module` asks for the module; `from module import name` for the module that holds it.
        yield from (f"{base}.{alias.name}" if f"{base}.{alias.name}" in known else base for alias in node.names)
    elif isinstance(node, ast.Call):
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name in _BY_NAME:
            argument = node.args[0] if node.args else None
            constant = isinstance(argument, ast.Constant) and isinstance(argument.value, str)
            yield argument.value if constant else "?"


def _place_breaches(module: Module) -> Iterator[str]:
    if module.floor is None:
        if module.folder:
            yield f"{module.shown}: folder {module.folder} has no floor in the plan"
        else:
            yield f"{module.shown}: stray module at the top of the package"


def _import_breaches(module: Module, item: Import, by_name: Mapping[str, Module]) -> Iterator[str]:
    if item.hidden and module.folder not in HIDDEN_IMPORT_REASONS:
        yield f"import of {item.target} hidden in a function without a listed reason"
    root = _root(item.target)
    if root == _root(module.name):
        yield from _floor_breaches(module, item.target, by_name)
    elif root != "?" and root not in sys.stdlib_module_names and module.folder not in HOMES.get(root, ()):
        yield f"third-party import of {root} outside its homes ({', '.join(sorted(HOMES.get(root, ()))) or 'none'})"


def _floor_breaches(module: Module, target: str, by_name: Mapping[str, Module]) -> Iterator[str]:
    other = by_name.get(target)
    if other is None:
        yield f"import of {target}, which does not exist"
    elif module.floor is not None and other.floor is not None and other.folder != module.folder:
        if other.floor > module.floor:
            yield f"upward import of {target} (floor {other.floor}) from floor {module.floor}"
        elif other.floor == module.floor:
            yield f"sideways import of {target} from {module.folder}, both on floor {module.floor}"


def _cycles(modules: list[Module], by_name: Mapping[str, Module]) -> Iterator[str]:
    graph = networkx.DiGraph()
    graph.add_edges_from((m.name, item.target) for m in modules for item in m.imports if item.target in by_name)
    for group in networkx.strongly_connected_components(graph):
        if len(group) > 1 or any(graph.has_edge(name, name) for name in group):
            yield f"cycle of modules: {', '.join(sorted(group))}"

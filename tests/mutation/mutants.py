"""The mutants: every change that the operators of `cosmic-ray` make to some folders, drawn in an order fixed by a seed.

Left out is what changes nothing that runs: a mutant within an annotation, since none of them is evaluated here.
"""

from __future__ import annotations

import ast
import random
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import cosmic_ray.plugins
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code

__all__ = ["Mutant", "drawn", "place_of"]


class Mutant(NamedTuple):
    """One change: the file from the root on, the operator and which of its places there, and the lines it touches."""

    file: str
    operator: str
    occurrence: int
    first: int
    last: int

    @property
    def name(self) -> str:
        """What it is called: its line, the operator, and which of its places."""
        return f"{self.file}:{self.first} {self.operator.removeprefix('core/')} {self.occurrence}"

    def code(self, root: Path) -> str:
        """Return the text of the file with the change made."""
        operator = cosmic_ray.plugins.get_operator(self.operator)()
        changed = mutate_code((root / self.file).read_text(encoding="utf-8"), operator, self.occurrence)
        if changed is None:
            raise ValueError(f"{self} is not there")
        return str(changed)


class Place(NamedTuple):
    """Where a mutant lies: the first and last line of its statement, and the function around it, dotted, if any."""

    first: int
    last: int
    function: str | None


def drawn(root: Path, folders: list[str], seed: int) -> Iterator[Mutant]:
    """Yield all mutants of the folders in a random order; the same files and seed give the same order."""
    files = sorted(file for folder in folders for file in (root / folder).rglob("*.py"))
    everything = [mutant for file in files for mutant in _mutants(root, file)]
    random.Random(seed).shuffle(everything)
    for mutant in everything:
        before = (root / mutant.file).read_text(encoding="utf-8")
        try:
            changes = _running(before) != _running(mutant.code(root))
        except SyntaxError:  # `a * not b`, which is no code at all
            continue
        if changes:
            yield mutant


def place_of(text: str, mutant: Mutant) -> Place:
    """Return where in a file a mutant lies; a function only where the change lies in its body."""
    best: tuple[int, ast.stmt] | None = None
    function: list[str] | None = None
    open_nodes: list[tuple[ast.AST, list[str], bool]] = [(ast.parse(text), [], False)]
    while open_nodes:
        node, names, inside = open_nodes.pop()
        for below in ast.iter_child_nodes(node):
            first, last = _lines(below)
            if isinstance(below, ast.stmt) and first <= mutant.first <= last and (best is None or first >= best[0]):
                best = (first, below)
                function = names if inside else None
            if isinstance(below, ast.ClassDef | ast.FunctionDef) and not inside:
                is_function = isinstance(below, ast.FunctionDef)
                open_nodes.append((below, [*names, below.name], is_function))
            else:
                open_nodes.append((below, names, inside))
    if best is None:
        return Place(mutant.first, mutant.last, None)
    statement = best[1]
    body = getattr(statement, "body", None)
    last = body[0].lineno - 1 if isinstance(body, list) and body else statement.end_lineno or statement.lineno
    return Place(best[0], max(best[0], last, mutant.last), ".".join(function) if function else None)


def _lines(node: ast.AST) -> tuple[int, int]:
    first, last = getattr(node, "lineno", 0), getattr(node, "end_lineno", 0)
    return min([first, *(mark.lineno for mark in getattr(node, "decorator_list", []))]), last


def _mutants(root: Path, file: Path) -> Iterator[Mutant]:
    tree = get_ast(file.read_text(encoding="utf-8"))
    for name in sorted(cosmic_ray.plugins.operator_names()):
        operator = cosmic_ray.plugins.get_operator(name)
        if operator.arguments():
            continue
        places = [place for node in ast_nodes(tree) for place in operator().mutation_positions(node)]
        for number, ((first, _), (last, _)) in enumerate(places):
            yield Mutant(file.relative_to(root).as_posix(), name, number, first, last)


def _running(text: str) -> str:
    """Return a file's code as it runs, without annotations."""
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.arg):
            node.annotation = None
        elif isinstance(node, ast.FunctionDef):
            node.returns = None
        elif isinstance(node, ast.AnnAssign):
            node.annotation = ast.Constant(None)
    return ast.dump(tree)

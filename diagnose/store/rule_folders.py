"""Which rules hold: those that ship, a whole rule base in their place, or a company's own folder over them.

Finds and reads files; it must not understand any rule. Nothing of a company's folder is passed over without a word: a
file that belongs nowhere is refused.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from diagnose.basics.errors import BadInput, Problem, meant, printable
from diagnose.store.data_folder import rules_digest, rules_folder
from diagnose.store.rule_overlay import changed_keys, overlaid
from diagnose.store.yaml_text import LARGEST, Document, Loc, read_yaml

__all__ = ["FILL_IN", "OVERLAID", "SOURCES", "RuleFolders", "Unfilled", "as_folders", "rule_folders"]

#: what a company's folder may hold: folders of rules, and the file of sources
OVERLAID = (
    "faults", "tests", "complaints", "cautions", "causes", "operating_states", "tables", "layouts", "examples"
)  # fmt: skip
SOURCES = "sources.yaml"
#: how a value begins that a skeleton leaves to its author; what to write stands behind it
FILL_IN = "FILL IN"
#: files named in the one line that tells what is overlaid
SHOWN = 12


class Unfilled(BadInput):
    """A file of a rule in which something is still to be filled in."""


class RuleFolders(NamedTuple):
    """The folder of a whole rule base, `base`, and that of a company's own rules, `own`, if any.

    `name` is the folder as the person gave it, for messages; None for the rules that ship.
    """

    base: Path
    own: Path | None = None
    name: str | None = None

    def stems(self, section: str) -> tuple[str, ...]:
        """Return the names of the rules of a section, sorted."""
        folders = [self.base] + ([self.own] if self.own is not None else [])
        return tuple(sorted({file.stem for folder in folders for file in (folder / section).glob("*.yaml")}))

    def read(self, relative: str, shown: str | None = None) -> Document:
        """Return a file of the rules, the company's own over the one that ships.

        Parameters: `relative`, its name below the folder, such as `faults/blown.yaml`; `shown`, what messages call the
        one that ships, `rules/faults/blown.yaml` unless said otherwise.
        Raises: BadInput where it cannot be read; Unfilled where something is still to be filled in.
        """
        own, below = self._own_file(relative), self.base / relative
        document = read_yaml(below, shown or f"rules/{relative}") if own is None or below.is_file() else None
        if own is not None:
            upper = read_yaml(own, self.own_name(relative))
            document = upper if document is None else overlaid(upper, document)
        assert document is not None
        if unfilled := list(_unfilled(document, document.data, ())):
            raise Unfilled(unfilled)
        return document

    def own_name(self, relative: str) -> str:
        """Return what messages call a file of a company's own."""
        return f"{(self.name or '').rstrip('/')}/{relative}"

    def own_files(self) -> tuple[str, ...]:
        """Return the files of the company's own folder, sorted, by their names below it."""
        if self.own is None:
            return ()
        found = [f"{section}/{file.name}" for section in OVERLAID for file in (self.own / section).glob("*.yaml")]
        return tuple(sorted(found + ([SOURCES] if (self.own / SOURCES).is_file() else [])))

    def digest(self) -> str:
        """Return a digest of all files that hold; what is changed, added or gone in either folder changes it."""
        digest = hashlib.sha256(rules_digest(self.base).encode())
        if self.own is None:
            return rules_digest(self.base)
        for name in self.own_files():
            with (self.own / name).open("rb") as stream:  # what is larger is refused on reading
                digest.update(name.encode() + b"\0" + stream.read(LARGEST + 1) + b"\0")
        return digest.hexdigest()

    def told(self) -> str | None:
        """Return the one line that tells what holds in place of the rules that ship, or None where nothing does.

        The files must have been read without problems.
        """
        if self.name is None:
            return None
        if self.own is None:
            return f"rules: those of {printable(self.name)} alone, not those that ship"
        changed, added = [], []
        for name in self.own_files():
            plain = name.removesuffix(".yaml")
            if not (self.base / name).is_file():
                added.append(plain)
                continue
            keys = changed_keys(read_yaml(self.own / name).data, read_yaml(self.base / name).data)
            changed.append(f"{plain} ({', '.join(keys) or 'nothing differs'})")
        parts = [f"{said} {_some(names)}" for said, names in (("changed", changed), ("added", added)) if names]
        return printable(f"rules: those of {self.name} over those that ship: {'; '.join(parts)}")

    def _own_file(self, relative: str) -> Path | None:
        file = None if self.own is None else self.own / relative
        return file if file is not None and file.is_file() else None


def as_folders(folder: Path | RuleFolders | None) -> RuleFolders:
    """Return the folders of the rules: those that ship unless others are given."""
    if isinstance(folder, RuleFolders):
        return folder
    return RuleFolders(folder if folder is not None else rules_folder())


def rule_folders(named: str | None) -> RuleFolders:
    """Return the folders of the rules for what a person named.

    Parameters: `named`, a folder: a whole rule base, with its MARKER.yaml, stands in place of the one that ships; any
    other is laid over it. None for the rules that ship.
    Raises: BadInput where it is no folder, holds no rules, or holds what belongs nowhere.
    """
    if named is None:
        return RuleFolders(rules_folder())
    folder = Path(named)
    if not named or "\0" in named or not folder.is_dir():
        raise BadInput([Problem(named or "--rules", None, None, "there is no such folder", "give a folder of rules")])
    if (folder / "MARKER.yaml").is_file():
        return RuleFolders(folder, None, named)
    if (folder / "rules" / "MARKER.yaml").is_file():
        right = f"give the folder `rules` within it: {folder / 'rules'}"
        raise BadInput([Problem(named, None, None, "this is no rule base", right)])
    folders = RuleFolders(rules_folder(), folder, named)
    if strays := [problem for problem, _ in zip(_strays(folder, folders), range(20), strict=False)]:
        raise BadInput(strays)
    if not folders.own_files():
        right = f"put rules into {', '.join(OVERLAID[:3])} and so on within it, or give a whole rule base"
        raise BadInput([Problem(named, None, None, "this is no rule base and holds no rules", right)])
    return folders


def _strays(folder: Path, folders: RuleFolders) -> Iterator[Problem]:
    """Yield each file of YAML that would not be read where it lies."""
    for path in sorted(folder.iterdir()):
        if path.name.startswith("."):
            continue
        inside = sorted(path.iterdir()) if path.is_dir() else []
        if path.is_dir() and path.name not in OVERLAID and any(each.suffix == ".yaml" for each in inside):
            right = meant(path.name, OVERLAID, f"what can be laid over is {', '.join(OVERLAID)}")
            yield Problem(folders.own_name(path.name), None, None, "rules in this folder are not read", right)
        if path.is_file() and path.suffix in (".yaml", ".yml") and path.name != SOURCES:
            right = f"put it into {', '.join(OVERLAID)}"
            yield Problem(folders.own_name(path.name), None, None, "this file is not read here", right)
        if path.name in OVERLAID:
            for file in inside:
                if file.suffix == ".yml" or (file.suffix == ".yaml" and not file.is_file()):
                    right = "make it a plain file with the ending .yaml"
                    yield Problem(folders.own_name(f"{path.name}/{file.name}"), None, None, "this is not read", right)


def _unfilled(document: Document, data: Any, loc: Loc) -> Iterator[Problem]:
    """Yield each value that a skeleton left to its author."""
    if isinstance(data, str) and data.startswith(FILL_IN):
        key = next((step for step in reversed(loc) if isinstance(step, str)), "this")
        right = data.removeprefix(FILL_IN).lstrip(": ") or "write it, or take the line out"
        yield document.problem(loc, f"`{key}` is still to be filled in", f"write {right}")
    for step, value in data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ():
        yield from _unfilled(document, value, (*loc, step))


def _some(names: list[str]) -> str:
    more = len(names) - SHOWN
    return ", ".join(names[:SHOWN]) + (f" and {more} more" if more > 0 else "")

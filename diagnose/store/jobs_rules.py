"""The rules that a job was begun with: kept in its first line, found again when it goes on."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from diagnose.basics.errors import BadInput, Problem
from diagnose.store.rule_folders import RuleFolders, as_folders, rule_folders

__all__ = ["changed_since", "rules_entry", "rules_of"]


def rules_entry(rules: RuleFolders | None) -> dict[str, str]:
    """Return what a first line says of the rules: a short hash, and the folder of one's own, if any."""
    folders = as_folders(rules)
    entry = {"rules": folders.digest()[:16]}
    return entry if folders.name is None else {**entry, "rules_from": str(Path(folders.name).absolute())}


def changed_since(head: Mapping[str, Any], rules: RuleFolders | None) -> bool:
    """Return whether the rules are no longer those that a job was begun with."""
    return bool(head.get("rules") != as_folders(rules).digest()[:16])


def rules_of(head: Mapping[str, Any], path: Path, named: str | None = None) -> RuleFolders:
    """Return the rules that a job was begun with.

    Parameters: `head`, its first line; `path`, its file; `named`, where its own rules lie now, if they were moved.
    Raises: BadInput where they are gone, or own rules are named for a job that has none.
    """
    kept = head.get("rules_from")
    if kept is None:
        if named is not None:
            what = "this job was begun by the rules that ship, and goes on with them"
            raise BadInput([Problem("--rules", None, None, what, "leave --rules out, or begin a new job with it")])
        return rule_folders(None)
    if not isinstance(kept, str):
        raise BadInput([Problem(str(path), 1, 1, "`rules_from` is no folder", "restore the record from a copy")])
    if named is None and not ("\0" not in kept and Path(kept).is_dir()):
        right = "put the folder back, or name where it lies now: --rules FOLDER"
        raise BadInput([Problem(str(path), 1, 1, f"the own rules it was begun with are gone from {kept}", right)])
    return rule_folders(kept if named is None else named)

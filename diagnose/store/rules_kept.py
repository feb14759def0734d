"""The rule base kept in the cache folder once it has been read and checked, under the digest of all its files.

A file that is changed, added or taken away changes the digest, so nothing stale is ever used; what cannot be read is
read from the files again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

from pydantic import ValidationError

from diagnose.model.installation import Installation
from diagnose.model.rules import RuleBase
from diagnose.store import cache_folder
from diagnose.store.rule_folders import RuleFolders, as_folders
from diagnose.store.rules import load_rules

__all__ = ["kept_rules", "predictions_key"]

_PACKAGE = Path(__file__).parents[1]


def kept_rules(base: Path | RuleFolders | None = None, cache: bool = True) -> RuleBase:
    """Return the rule base of a folder, from the cache where it is there.

    Parameters: `base`, the one that is found, unless said otherwise; `cache`, whether the cache folder may be used.
    Raises: BadInput with every problem of every file.
    """
    folders = as_folders(base)
    if not cache:
        return load_rules(folders)
    code = _code_digest((*_PACKAGE.glob("model/*.py"), *_PACKAGE.glob("store/rule*.py")))
    key = f"rules 1 {folders.digest()} {code}"
    kept = cache_folder.read(key)
    if kept is not None:
        try:
            return RuleBase.model_validate_json(kept)
        except ValidationError:
            pass
    rules = load_rules(folders)
    cache_folder.write(key, rules.model_dump_json().encode())
    return rules


def predictions_key(installation: Installation, seed: int, base: Path | RuleFolders | None = None) -> str:
    """Return a key for predictions: it changes with the installation, the rules, the figures, the seed and our code."""
    rules = as_folders(base).digest()
    described = hashlib.sha256(installation.model_dump_json().encode()).hexdigest()
    return f"predictions 1 {rules} {seed} {described} {_code_digest(_PACKAGE.rglob('*.py'))}"


def _code_digest(files: Iterable[Path]) -> str:
    digest = hashlib.sha256()
    for file in sorted(files):
        digest.update(file.read_bytes() + b"\0")
    return digest.hexdigest()

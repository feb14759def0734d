"""Reads the words of phone scripts, `rules/scripts/cards.yaml`; must not make a script of them."""

from __future__ import annotations

from pathlib import Path

from diagnose.model.script_words import ScriptWords
from diagnose.store.data_folder import rules_folder
from diagnose.store.validation import validated
from diagnose.store.yaml_text import read_yaml

__all__ = ["load_script_words"]


def load_script_words(folder: Path | None = None) -> ScriptWords:
    """Return the words of scripts.

    Parameters: `folder`, the rule base; the one that is found, unless said otherwise.
    Raises: BadInput with every problem of the file.

    >>> load_script_words().things["charger"]
    'the charging box'
    """
    base = folder if folder is not None else rules_folder()
    return validated(ScriptWords, read_yaml(base / "scripts" / "cards.yaml", "rules/scripts/cards.yaml"))

"""Writes the skeleton of a new rule with its example into a company's own folder, and never over a file that is there.

The texts lie in `rules/skeletons`; what a value may be is put in from the program, so that it cannot drift. Nothing is
written before all is known to be free.
"""

from __future__ import annotations

import os
import re
import textwrap
from collections.abc import Collection
from pathlib import Path

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.circuit.faults import LAWS
from diagnose.model.reading import QUANTITIES
from diagnose.model.rules import RuleBase
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import layout_ids
from diagnose.store.new_file import write_new
from diagnose.store.rule_checks import ACTIONS, KINDS

__all__ = ["FOLDERS", "write_skeleton"]

#: what can be written anew, and the folder it belongs into
FOLDERS = {"fault": "faults", "test": "tests", "layout": "layouts", "complaint": "complaints"}
WIDTH = 110
_NAME = re.compile(r"[a-z][a-z0-9_]{0,59}")


def write_skeleton(kind: str, name: str, into: str, rules: RuleBase) -> tuple[str, ...]:
    """Write the skeleton of a rule, and its example beside it where it does not hold its own.

    Parameters: `kind`, a key of `FOLDERS`; `name`, the id of the new rule; `into`, the folder, made where it is
    missing; `rules`, those that ship.
    Returns: the files written.
    Raises: BadInput for a kind or a name that will not do, or where a file is there already; nothing is written then.
    """
    if kind not in FOLDERS:
        raise _refused("KIND", f"`{kind[:40]}` cannot be written anew", kind, FOLDERS)
    _check_name(kind, name, rules)
    if not into or "\0" in into:
        raise BadInput([Problem("--into", None, None, "this is no name of a folder", "give another name")])
    skeletons = rules_folder() / "skeletons"
    texts = {str(Path(into) / FOLDERS[kind] / f"{name}.yaml"): skeletons / f"{kind}.yaml"}
    if (example := skeletons / "examples" / f"{kind}.yaml").is_file():
        texts[str(Path(into) / "examples" / f"{name}.yaml")] = example
    taken = [Problem(file, None, None, "it exists already, nothing was written", "give another name, or mend it")
             for file in texts if os.path.lexists(file)]  # fmt: skip
    if taken:
        raise BadInput(taken)
    for file, source in texts.items():
        _make_folder(Path(file).parent)
        write_new(file, _filled(source.read_text(encoding="utf-8"), name, rules))
    return tuple(texts)


def _check_name(kind: str, name: str, rules: RuleBase) -> None:
    """Refuse a name that is no identifier, that ships already, or a test that the program cannot work out."""
    if kind == "test":
        if name not in (*QUANTITIES, *ACTIONS):
            raise _refused("NAME", f"the program works out no test `{name[:60]}`", name, (*QUANTITIES, *ACTIONS))
        return
    if _NAME.fullmatch(name) is None:
        right = "write small letters, digits and `_`, a letter first, 60 at most"
        raise BadInput([Problem("NAME", None, None, f"`{name[:60]}` is no name of a rule", right)])
    ship: dict[str, Collection[str]] = {
        "fault": rules.faults, "complaint": rules.complaints, "layout": layout_ids()
    }  # fmt: skip
    if name in ship[kind]:
        right = f"give another name; to change it write the keys that change into {FOLDERS[kind]}/{name}.yaml"
        raise BadInput([Problem("NAME", None, None, f"a {kind} `{name}` ships already", right)])


def _refused(about: str, what: str, word: str, known: Collection[str]) -> BadInput:
    right = meant(word, known, f"write one of {', '.join(known)}")
    return BadInput([Problem(about, None, None, what, right)])


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "unknown reason"
        right = "give a folder that can be written to with --into"
        raise BadInput([Problem(str(folder), None, None, f"the folder cannot be made ({reason})", right)]) from None


def _filled(text: str, name: str, rules: RuleBase) -> str:
    """Return a skeleton with the name of the rule and with the words that may stand in it."""
    words = {
        "families": sorted({fault.family for fault in rules.faults.values()}),
        "laws": list(LAWS),
        "kinds": list(KINDS),
    }
    for key, known in words.items():
        listed = textwrap.fill(", ".join(known), WIDTH, initial_indent="#   ", subsequent_indent="#   ")
        text = text.replace(f"#<{key}>", listed)
    return text.replace("<reading>", _reading(name)).replace("NEW_NAME", name)


def _reading(name: str) -> str:
    """Return a reading of a quantity, or with something fitted, whose places are still to be filled in."""
    pair = '["FILL IN: a point", "FILL IN: another point"]'
    if name == "jumper":
        return f"volts: [charger_in, charger_neg], jumper: {pair}, when: engine_running"
    if name == "swap":
        return 'lamp: charging, swap: "FILL IN: the part", when: engine_running'
    places = QUANTITIES[name][0] if name in QUANTITIES else 1
    where = '"FILL IN: the part, or PART@POINT for an end of it"' if places == 1 else pair
    return f"{name}: {where}, when: {'isolated' if name == 'ohms' else 'engine_running'}"

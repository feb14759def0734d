"""Where `rules/` and `cases/` lie: in a folder the user names, inside the installed package, or in the checkout.

A folder counts only with its marker file, so a stranger's `rules/` is never read. This file finds folders; it must not
understand any rule or case.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from pathlib import Path

from diagnose.basics.errors import BadInput, Problem

__all__ = [
    "DataFolderError", "cases_folder", "data_folder", "find_data_folder", "rules_digest", "rules_folder",
]  # fmt: skip

_VARIABLE = "DIAGNOSE_DATA"
_MARKER = Path("rules", "MARKER.yaml")
_MARKED = {"rule_base": "charge-path-diagnose", "form": "1"}
_LONGEST_MARKER = 4096  # a marker is two lines: a huge stranger is not read to its end


class DataFolderError(BadInput):
    """The rule base was not found where it was looked for: bad input, since a variable or an installation is wrong."""

    def __init__(self, where: str, what: str, right: str) -> None:
        """Tell where it was looked for, what is wrong there and what would be right."""
        super().__init__([Problem(where, None, None, what, right)])


def data_folder() -> Path:
    """Return the folder that contains `rules` and `cases`.

    Looked for in the environment variable `DIAGNOSE_DATA`, then in the installed package, then in the checkout beside
    the package.

    Raises: DataFolderError: no such folder, or the one named by the variable is not ours.

    >>> (data_folder() / "rules" / "MARKER.yaml").is_file()
    True
    """
    return find_data_folder(os.environ, Path(__file__).resolve().parents[1])


def rules_folder() -> Path:
    """Return the folder of the rule base.

    >>> rules_folder().name
    'rules'
    """
    return data_folder() / "rules"


def cases_folder() -> Path:
    """Return the folder of the practice cases and the worked cases.

    Raises: DataFolderError: the rule base has no cases beside it.
    """
    folder = data_folder() / "cases"
    if not folder.is_dir():
        raise DataFolderError(str(folder), "no folder of cases here", "it belongs beside `rules`")
    return folder


def find_data_folder(environment: Mapping[str, str], package: Path) -> Path:
    """Return the data folder for a given environment and package folder.

    Parameters: environment: the environment variables; a set `DIAGNOSE_DATA` is the only place looked at, since
        falling back silently would show other rules than those asked for. package: the folder of the import package.

    Raises: DataFolderError: no place holds our marker file.
    """
    named = environment.get(_VARIABLE, "")
    if named:
        return _named_folder(Path(named))
    places = (package / "_data", package.parent)
    faults = [_fault(place) for place in places]
    for place, fault in zip(places, faults, strict=True):
        if fault is None:
            return place
    looked = "; ".join(fault for fault in faults if fault is not None)
    right = f"install the program again or set {_VARIABLE} to the folder that holds `rules`"
    raise DataFolderError("the rule base", f"not found ({looked})", right)


def _named_folder(folder: Path) -> Path:
    fault = _fault(folder)
    if fault is not None:
        raise DataFolderError(_VARIABLE, fault, "it must name the folder that holds `rules` and `cases`")
    return folder.resolve()


def _fault(folder: Path) -> str | None:
    """Return what keeps this folder from being ours, or None."""
    marker = folder / _MARKER
    try:
        with marker.open("rb") as stream:
            text = stream.read(_LONGEST_MARKER).decode("utf-8")
    except OSError:
        return f"no {marker}"
    except UnicodeDecodeError:
        return f"{marker} is not text"
    found = _keys(text)
    for key, wanted in _MARKED.items():
        if found.get(key) != wanted:
            return f"{marker} does not say `{key}: {wanted}`"
    return None


def _keys(text: str) -> dict[str, str]:
    """Return the plain `key: value` lines of the marker; a YAML reader would be too much for two of them."""
    lines = (line.split("#", 1)[0] for line in text.splitlines())
    pairs = (line.partition(":") for line in lines if ":" in line)
    return {key.strip(): value.strip() for key, _, value in pairs}


def rules_digest(base: Path) -> str:
    """Return a digest of every file of a rule base, names included; what is changed, added or gone changes it."""
    digest = hashlib.sha256()
    for file in sorted(base.rglob("*.yaml")):
        digest.update(file.relative_to(base).as_posix().encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()

"""Where a platform keeps a person's files: caches and data, each in a folder of ours."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from diagnose.basics.errors import BadInput, Problem

__all__ = ["CACHES", "DATA", "Kind", "data_below", "our_folder"]

_NAME = "charge-path-diagnose"


class Kind(NamedTuple):
    """A kind of files: the variable of the XDG base directory specification and its default below the home folder, and
    the folder below it on a Mac.
    """

    variable: str
    below_home: tuple[str, ...]
    mac: tuple[str, ...]


CACHES = Kind("XDG_CACHE_HOME", (".cache",), ("Library", "Caches"))
DATA = Kind("XDG_DATA_HOME", (".local", "share"), ("Library", "Application Support"))


def our_folder(kind: Kind, environment: Mapping[str, str], platform: str) -> Path | None:
    """Return our folder for a kind of files, or None for a person without a home folder; makes nothing.

    Source: XDG Base Directory Specification (a relative path in a variable is ignored).

    >>> our_folder(CACHES, {"HOME": "/home/kim"}, "linux").as_posix()
    '/home/kim/.cache/charge-path-diagnose'
    """
    home = environment.get("USERPROFILE" if platform == "win32" else "HOME", "")
    if platform == "win32":
        base = environment.get("LOCALAPPDATA") or (home and os.path.join(home, "AppData", "Local"))
    elif platform == "darwin":
        base = home and os.path.join(home, *kind.mac)
    else:
        named = environment.get(kind.variable, "")
        base = named if os.path.isabs(named) else home and os.path.join(home, *kind.below_home)
    return Path(base, _NAME) if base and os.path.isabs(base) else None


def data_below(
    named: str | None, option: str, what: str, environment: Mapping[str, str], platform: str = sys.platform
) -> Path:
    """Return the folder of one kind of a person's data, such as `jobs`; makes nothing.

    Parameters: `named`, a folder that was asked for; `option`, with which one is; `what`, the name of the kind, which
    also names the variable: `DIAGNOSE_JOBS`.
    Raises: BadInput for a person without a home folder who named none.

    >>> data_below(None, "--jobs", "jobs", {"HOME": "/home/kim"}, "linux").as_posix()
    '/home/kim/.local/share/charge-path-diagnose/jobs'
    """
    if named or environment.get(f"DIAGNOSE_{what.upper()}"):
        return Path(named or environment[f"DIAGNOSE_{what.upper()}"])
    folder = our_folder(DATA, environment, platform)
    if folder is None:
        raise BadInput([Problem(option, None, None, f"there is no home folder to keep {what} in", "name a folder")])
    return folder / what

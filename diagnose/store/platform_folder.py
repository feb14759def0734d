"""Where a platform keeps a person's files: caches and data, each in a folder of ours."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

__all__ = ["CACHES", "DATA", "Kind", "our_folder"]

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

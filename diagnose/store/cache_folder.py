"""The one folder that the program may write without being asked: kept predictions and the last traceback.

It lies under `DIAGNOSE_CACHE`, or else where this system keeps caches; where it cannot be made, the program does
without.
"""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["cache_folder"]


def cache_folder() -> Path | None:
    """Return the cache folder, made if need be, or None where it cannot be made."""
    named = os.environ.get("DIAGNOSE_CACHE")
    if named:
        folder = Path(named)
    else:
        base = os.environ.get("LOCALAPPDATA") or os.environ.get("XDG_CACHE_HOME")
        folder = (Path(base) if base else Path("~/.cache").expanduser()) / "charge-path-diagnose"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError):
        return None
    return folder if os.access(folder, os.W_OK) else None

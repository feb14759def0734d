"""Writes a file that was not there: whole or not at all, and never over another unless that is allowed."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from diagnose.basics.errors import BadInput, Problem

__all__ = ["refuse_taken", "write_new"]


def refuse_taken(path: str, force: bool) -> None:
    """Refuse a path that cannot be written to.

    Parameters: `path`; `force`, whether a file that is there may be written over.
    Raises: BadInput where a file is there and may stay, where it is a folder, or where its folder is missing.
    """
    file = Path(path)
    if not path or "\0" in path:
        raise _refusal(path or "FILE", "this is no name of a file", "give another name")
    if path.startswith("-"):
        raise _refusal(path, "this looks like an option", f"give another name, or ./{path} if it is meant so")
    if file.is_dir():
        raise _refusal(path, "this is a folder", "give the name of a file")
    if os.path.lexists(file) and not force:
        raise _refusal(path, "it exists already", "give another name, or --force to write over it")
    if not file.parent.is_dir():
        raise _refusal(path, "its folder does not exist", "make the folder first, or give another name")
    if not os.access(file.parent, os.W_OK):
        raise _refusal(path, "its folder cannot be written to", "give another name")


def write_new(path: str, text: str, force: bool = False) -> None:
    """Write a file whole: into a temporary one beside it, made safe on the disk, then moved into place.

    Parameters: `path`; `text`; `force`, whether a file that is there may be written over.
    Raises: BadInput where it cannot be written; what was there before then still is.
    """
    refuse_taken(path, force)
    target = Path(path)
    if force and target.is_symlink():
        target = Path(os.path.realpath(target))  # the link stays, what it leads to is replaced
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o666 & ~_mask())
        refuse_taken(path, force)  # another may have been faster
        os.replace(temporary, target)
    except OSError as error:
        raise _refusal(path, f"cannot be written ({error.strerror or 'unknown reason'})", "give another name") from None
    finally:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)


def _mask() -> int:
    """Return the mask of new files of this process."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _refusal(path: str, what: str, right: str) -> BadInput:
    return BadInput([Problem(path, None, None, what, right)])

"""The one folder this program may write unasked: tables that can be computed again, and tracebacks of our own faults.

Its place is the environment variable `DIAGNOSE_CACHE`, else `charge-path-diagnose` in the platform's folder for caches.
It must not matter: whatever cannot be read or written is as if it had never been kept, and a damaged file is ignored.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from diagnose.store.platform_folder import CACHES, our_folder

__all__ = ["cache_folder", "find_cache_folder", "keep_traceback", "read", "write"]

_VARIABLE = "DIAGNOSE_CACHE"
_KEPT = ".kept"
_UNFINISHED = ".part"
_MOST_FILES = 200  # the oldest give way, so that the folder does not grow for ever
_DIGEST = hashlib.sha256().digest_size


def cache_folder() -> Path | None:
    """Return the cache folder, made where it was missing, or None where it cannot be made."""
    folder = find_cache_folder(os.environ, sys.platform)
    if folder is None:
        return None
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except (OSError, ValueError):
        return None
    return folder


def find_cache_folder(environment: Mapping[str, str], platform: str) -> Path | None:
    """Return where the cache folder belongs, or None for a person without a home folder; makes nothing.

    >>> find_cache_folder({"XDG_CACHE_HOME": "/var/tmp/mine"}, "linux").as_posix()
    '/var/tmp/mine/charge-path-diagnose'
    """
    if named := environment.get(_VARIABLE):
        return Path(named)
    return our_folder(CACHES, environment, platform)


def read(key: str) -> bytes | None:
    """Return what was kept under a key, or None where there is nothing or the file is damaged.

    `key` must name everything the data depends on, the version of this program and the hash of the rules included.
    """
    folder = find_cache_folder(os.environ, sys.platform)
    if folder is None:
        return None
    try:
        with open(folder / _file_name(key), "rb") as stream:
            digest, data = stream.read(_DIGEST), stream.read()
    except (OSError, ValueError):
        return None
    return data if digest == _digest(key, data) else None


def write(key: str, data: bytes) -> None:
    """Keep data under a key if that is possible; readers see the old file or the new one, never a part."""
    folder = cache_folder()
    if folder is not None:
        _replace(folder, _file_name(key), _digest(key, data), data)
        _thin_out(folder)


def keep_traceback(text: str, cache: bool = True) -> Path | None:
    """Keep a traceback and return its file, or None where no file can be written.

    It lies in the cache folder, or in the platform's temporary folder where `cache` is False or there is no other. The
    same traceback takes the same file in the cache folder, so that a fault that returns does not fill it.
    """
    data = text.encode("utf-8", "backslashreplace")
    folder = cache_folder() if cache else None
    if folder is not None:
        name = f"traceback-{hashlib.sha256(data).hexdigest()[:12]}.txt"
        if _replace(folder, name, data):
            return folder / name
    try:
        # The temporary folder is everybody's: a new file with a name that nobody can foresee.
        handle, path = tempfile.mkstemp(prefix="diagnose-traceback-", suffix=".txt")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
    except OSError:
        return None
    return Path(path)


def _file_name(key: str) -> str:
    return hashlib.sha256(key.encode("utf-8", "backslashreplace")).hexdigest()[:32] + _KEPT


def _digest(key: str, data: bytes) -> bytes:
    """Return what a sound file begins with; it covers the key, so that a file under a wrong name is damaged too."""
    digest = hashlib.sha256(_file_name(key).encode("ascii"))
    digest.update(data)  # data may be many megabytes: it is never copied
    return digest.digest()


def _replace(folder: Path, name: str, *data: bytes) -> bool:
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(suffix=_UNFINISHED, dir=folder)
        with os.fdopen(handle, "wb") as stream:
            stream.writelines(data)
        os.replace(temporary, folder / name)
    except OSError:
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        return False
    return True


def _thin_out(folder: Path) -> None:
    """Remove the oldest of our own files where there are too many, those of interrupted writes included."""
    with contextlib.suppress(OSError):
        ours = [entry for entry in os.scandir(folder) if entry.name.endswith((_KEPT, _UNFINISHED))]
        if len(ours) > _MOST_FILES:
            ours.sort(key=lambda entry: entry.stat().st_mtime_ns)
            for entry in ours[: len(ours) - _MOST_FILES]:
                os.unlink(entry.path)

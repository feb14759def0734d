"""Reads a list of answers written beforehand, one a line; it must not know what they answer."""

from __future__ import annotations

from pathlib import Path

from diagnose.basics.errors import BadInput, Problem

__all__ = ["load_answers"]

_LARGEST = 1 << 20


def load_answers(path: str, option: str = "--answers") -> str:
    """Return the text of a file of answers.

    Parameters: `path`; `option`, what messages call it.
    Raises: BadInput where it cannot be read or is over 1 MiB.
    """
    try:
        with Path(path).open("rb") as stream:
            content = stream.read(_LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be opened"
        raise BadInput([Problem(option, None, None, f"cannot be read ({reason})", "give a file that exists")]) from None
    if len(content) > _LARGEST:
        raise BadInput([Problem(option, None, None, "the file is over 1 MiB", "give a list of answers, one a line")])
    return content.decode("utf-8", errors="replace")

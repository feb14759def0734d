"""Results of examinations: one file each, with a mark that no longer fits when anything in it was changed."""

from __future__ import annotations

import hmac
import json
from pathlib import Path
from typing import Any, NamedTuple

from diagnose.basics.errors import BadInput, Problem
from diagnose.store.new_file import write_new
from diagnose.store.practice_seal import mark_of

__all__ = ["Result", "load_result", "write_result"]

_SCHEMA = "diagnose/practice-result/1"
_LARGEST = 4 << 20


class Result(NamedTuple):
    """A result: whose, of which case, its score as the practice form has it, and whether its mark fits."""

    name: str
    case: str
    score: dict[str, Any]
    sound: bool


def write_result(path: str, form: dict[str, Any], name: str, digest: str, word: str, force: bool) -> None:
    """Write a result, marked with the instructor's word.

    Parameters: `form`, the practice form; `digest` of the case's file.
    """
    result = {"schema": _SCHEMA, "name": name, "case_digest": digest, "practice": form}
    text = json.dumps({**result, "mark": mark_of(result, word)}, indent=1, ensure_ascii=False) + "\n"
    write_new(path, text, force)


def load_result(path: str, word: str) -> Result:
    """Return a result, and whether it is as it was written.

    Raises: BadInput where it is no result.
    """
    try:
        with Path(path).open("rb") as stream:
            data = json.loads(stream.read(_LARGEST))
        mark = data.pop("mark")
        form = data["practice"]
        found = Result(
            str(data["name"]), str(form["case"]), dict(form["score"]), hmac.compare_digest(mark, mark_of(data, word))
        )
        if data["schema"] != _SCHEMA:
            raise ValueError("another form")
    except OSError as error:
        what = f"cannot be read ({error.strerror or 'unknown reason'})"
        raise BadInput([Problem(path, None, None, what, "give a result of an examination")]) from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        right = "give a file that `diagnose practice --exam` wrote"
        raise BadInput([Problem(path, None, None, "this is no result of an examination", right)]) from None
    return found

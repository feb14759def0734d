"""What is wrong in an input, where, and what would be right, as values that can be gathered and sorted.

Knows nothing of any file form. Whatever reaches a person from a file passes through `printable` first.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable
from typing import NamedTuple

__all__ = ["BadInput", "Problem", "did_you_mean", "meant", "printable"]

_LONGEST = 300  # characters of a message: enough to find the place, short enough for one line
_MOST = 200  # problems: a hostile file has a hundred thousand
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


class Problem(NamedTuple):
    """One defect of an input: file, place (counted from 1), what is wrong and what would be right.

    `file` is the name of the option where an option is wrong; then, and for a whole file, there is no position.
    """

    file: str
    line: int | None
    column: int | None
    what: str
    right: str

    def text(self) -> str:
        r"""Return the one line to show.

        >>> Problem("van.yaml", 3, 9, "a unit is missing", "write for example 4.8 m").text()
        'van.yaml:3:9: a unit is missing, write for example 4.8 m'
        >>> Problem("--tools", None, None, "no tool \x1b[31m", "use eyes").text()
        '--tools: no tool \\x1b[31m, use eyes'
        """
        place = "" if self.line is None else f":{self.line}:{self.column or 1}"
        return f"{printable(self.file)}{place}: {_short(self.what)}, {_short(self.right)}"

    def order(self) -> tuple[str, int, int, str]:
        """Return the sorting key: by file and place."""
        return (self.file, self.line or 0, self.column or 0, self.what)


class BadInput(Exception):  # noqa: N818 - not our error but the input's
    """An input that cannot be used, with all of its problems sorted by place.

    >>> worse = Problem("a.yaml", 9, 1, "late", "x")
    >>> [problem.line for problem in BadInput([worse, Problem("a.yaml", 2, 1, "early", "x"), worse]).problems]
    [2, 9]
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        ordered = sorted(set(problems), key=Problem.order)
        if len(ordered) > _MOST:
            rest = Problem(ordered[_MOST].file, None, None, f"{len(ordered) - _MOST} more problems", "mend these first")
            ordered = [*ordered[:_MOST], rest]
        self.problems: tuple[Problem, ...] = tuple(ordered)
        super().__init__("\n".join(problem.text() for problem in self.problems))


def printable(text: str) -> str:
    r"""Return text with every control, formatting and unassigned character written as an escape.

    >>> printable("a\x1b[2Jb\n")
    'a\\x1b[2Jb\\n'
    >>> printable("55 °C")
    '55 °C'
    """
    return "".join(_escaped(char) if unicodedata.category(char) in _HIDDEN else char for char in text)


def did_you_mean(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that is closest to a mistyped one, or None where none is close.

    >>> did_you_mean("chasis", ["tray", "chassis"]), did_you_mean("fridge", ["tray", "chassis"])
    ('chassis', None)
    """
    folded = {each.casefold(): each for each in sorted(set(known), reverse=True)}
    close = difflib.get_close_matches(name[:100].casefold(), folded, n=1, cutoff=0.66)
    return folded[close[0]] if close else None


def meant(name: str, known: Iterable[str], otherwise: str) -> str:
    """Return what would be right in place of a name that is unknown: the one meant, or `otherwise` where none is close.

    >>> meant("chasis", ["tray", "chassis"], "name a point"), meant("fridge", ["tray", "chassis"], "name a point")
    ('did you mean chassis?', 'name a point')
    """
    close = did_you_mean(name, known)
    return f"did you mean {close}?" if close else otherwise


def _escaped(char: str) -> str:
    return char.encode("unicode_escape").decode("ascii")


def _short(text: str) -> str:
    shown = printable(text)
    return shown if len(shown) <= _LONGEST else f"{shown[:_LONGEST]}..."

"""What was used lately is kept, so that it need not be worked out again."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

__all__ = ["kept"]

Key = TypeVar("Key")
Value = TypeVar("Value")


def kept(known: dict[Key, Value], key: Key, most: int, made: Callable[[], Value]) -> Value:
    """Return what is known by a key, made where it is not; what was used longest ago is dropped.

    Parameters: `known`, changed here; `most`, how many entries stay; `made`, called where there is none.

    >>> squares: dict[int, int] = {}
    >>> [kept(squares, n, 2, lambda n=n: n * n) for n in (1, 2, 1, 3)], list(squares)
    ([1, 4, 1, 9], [1, 3])
    """
    value = known.pop(key) if key in known else made()
    known[key] = value
    while len(known) > most:
        del known[next(iter(known))]
    return value

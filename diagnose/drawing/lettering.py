"""How wide a line of text can get in any common sans-serif font, and lines broken to a width; no drawing."""

from __future__ import annotations

import re

__all__ = ["SIZE", "broken", "text_width"]

#: height of letters [units]
SIZE = 11.0
# no published figure: judgement; widths [em] at or above those of the wide sans-serif fonts in common use
_NARROW, _LOWER, _UPPER, _WIDE = 0.46, 0.70, 0.84, 1.06


def text_width(text: str, size: float = SIZE) -> float:
    """Return a width [units] that the text stays below.

    >>> text_width("mill") < text_width("mmmm")
    True
    """
    return size * sum(_em(sign) for sign in text)


def _em(sign: str) -> float:
    if sign in "iljtfr.,:;|'!()[] /-\u00a0":
        return _NARROW
    if sign in "mwMW@%" or not sign.isascii():
        return _WIDE
    return _UPPER if sign.isupper() else _LOWER


def broken(text: str, width: float, size: float = SIZE) -> list[str]:
    """Return the text in lines no wider than `width` [units]; a word too long for a line is cut.

    A space that does not break joins two words into one.

    >>> broken("house battery", 60)
    ['house', 'battery']
    """
    lines: list[str] = []
    line = ""
    for word in re.split(r"[^\S\u00a0]+", text.strip()):
        while text_width(word, size) > width:
            cut = next(n for n in range(len(word), 0, -1) if n == 1 or text_width(word[:n], size) <= width)
            lines, line, word = [*lines, *([line] if line else []), word[:cut]], "", word[cut:]
        tried = f"{line} {word}".strip()
        if text_width(tried, size) <= width:
            line = tried
        else:
            lines, line = [*lines, line], word
    return [*lines, line] if line or not lines else lines

"""Seals: what an examination must not show at a glance, and results that show whether they were changed.

A seal keeps the answer from being read, not from being worked out by somebody who reads this file. The mark of a result
is a keyed digest; only who knows the word that the instructor gave can make one.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import zlib
from typing import Any

__all__ = ["mark_of", "sealed", "unsealed"]


def sealed(inside: dict[str, Any], name: str) -> str:
    """Return data as a seal that only the same name opens.

    >>> unsealed(sealed({"seed": 7}, "case-1"), "case-1")
    {'seed': 7}
    """
    packed = zlib.compress(json.dumps(inside, sort_keys=True).encode())
    check = hashlib.sha256(packed).digest()[:8]
    return base64.b64encode(_mixed(check + packed, name)).decode("ascii")


def unsealed(text: str, name: str) -> dict[str, Any]:
    """Return what a seal holds.

    Raises: ValueError where it is broken or of another name.
    """
    try:
        mixed = _mixed(base64.b64decode(text, validate=True), name)
        if hashlib.sha256(mixed[8:]).digest()[:8] != mixed[:8]:
            raise ValueError("broken")
        inside = json.loads(zlib.decompress(mixed[8:], bufsize=1 << 16))
    except (ValueError, zlib.error) as error:
        raise ValueError("the seal is broken") from error
    if not isinstance(inside, dict):
        raise ValueError("the seal is broken")
    return inside


def mark_of(result: dict[str, Any], word: str) -> str:
    """Return the mark of a result under a word: it is another one as soon as anything in the result is changed.

    >>> mark_of({"points": 82}, "owl") == mark_of({"points": 83}, "owl")
    False
    """
    text = json.dumps(result, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hmac.new(f"practice {word}".encode(), text.encode(), hashlib.sha256).hexdigest()


def _mixed(data: bytes, name: str) -> bytes:
    """Return data with a stream of bytes that the name makes laid over it; doing it twice undoes it."""
    stream = hashlib.shake_256(f"practice {name}".encode()).digest(len(data))
    return bytes(a ^ b for a, b in zip(data, stream, strict=True))

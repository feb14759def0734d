"""Predictions as bytes and back, so that a later start need not work them out again.

What is kept belongs to one installation, rule base, seed and program; whoever keeps it must name all of these. Bytes
that do not fit are refused as a whole.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterable

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Take

__all__ = ["pack", "takes_from", "takes_to", "unpack"]


def pack(arrays: Iterable[tuple[str, Array]]) -> bytes:
    """Return arrays by name as bytes; only one at a time need be there.

    >>> unpack(pack([("one", np.arange(3))]))["one"].tolist()
    [0, 1, 2]
    """
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as whole:
        for name, array in arrays:
            with whole.open(f"{name}.npy", "w", force_zip64=True) as one:
                np.lib.format.write_array(one, np.asanyarray(array), allow_pickle=False)
    return stream.getvalue()


def unpack(data: bytes) -> dict[str, Array]:
    """Return the arrays of some bytes.

    Raises: ValueError where they are not what `pack` made.
    """
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as found:
            return {name: found[name] for name in found.files}
    except (OSError, EOFError, KeyError, ValueError, zipfile.BadZipFile) as error:
        raise ValueError("these are not kept predictions") from error


def takes_to(takes: list[Take]) -> Array:
    """Return tests as an array of text.

    >>> takes_from(takes_to([Take("volts", ("a", "b"), "at_rest")]))[0].where
    ('a', 'b')
    """
    return np.array([json.dumps(list(take)) for take in takes], dtype=str)


def takes_from(text: Array) -> list[Take]:
    """Return the tests of an array of text."""
    return [Take._make(tuple(v) if isinstance(v, list) else v for v in json.loads(one)) for one in text.tolist()]

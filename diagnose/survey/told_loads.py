"""Reads a list of loads as told: `fridge 55 W 10 h, lights 3 A 4 h`; must not know which loads a layout has."""

from __future__ import annotations

import re
import unicodedata

from diagnose.basics.quantities import QuantityError, decimal_of, format_span, parse_span
from diagnose.model.survey import LoadAnswer

__all__ = ["AMPERES_AT", "load_id", "read_loads"]

AMPERES_AT = 12.0  # V; amperes of a load are told at the nominal voltage
_MOST = 20
_EXAMPLE = "write for example fridge 55 W 10 h, lights 3 A 4 h"
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_ONE = re.compile(
    rf"(?P<name>[^\W\d_].*?)[\s:]+(?P<number>{_NUMBER}(?:\s*(?:to|-)\s*{_NUMBER})?)\s*(?P<unit>kW|W|watts?|A|mA|amps?)"
    rf"(?:[\s,]+(?:for\s+)?(?P<hours>{_NUMBER})\s*(?:h|hrs?|hours?)(?:\s*(?:a|per|/)\s*day)?)?\.?",
    re.IGNORECASE | re.DOTALL,
)


def read_loads(text: str, within: str) -> tuple[LoadAnswer, ...]:
    """Return the loads of a list; none for the word none.

    Parameters: `text` as typed; `within`, bounds of a load's power, as a range with unit.
    Raises: QuantityError for an entry that is no load, with what would be right.

    >>> read_loads("fridge 55 W 10 h, lights 3 A", "0.1 to 5000 W")
    (LoadAnswer(name='fridge', power='55 W', hours=10.0), LoadAnswer(name='lights', power='36 W', hours=None))
    >>> read_loads("none", "0.1 to 5000 W")
    ()
    """
    if text.strip().casefold() in ("none", "no", "nothing", "no loads"):
        return ()
    # A comma parts two loads where a word follows it: `7,5 W` and `fridge 55 W, 10 h` keep theirs.
    pieces = [piece.strip() for piece in re.split(r";|,(?=\s*[^\W\d_])|\s+and\s+", text) if piece.strip()]
    if not pieces or len(pieces) > _MOST:
        raise QuantityError("this is no list of loads" if not pieces else f"more than {_MOST} loads", _EXAMPLE)
    loads = tuple(_load(piece, within) for piece in pieces)
    ids = [load_id(load.name) for load in loads]
    twice = next((name for name in ids if ids.count(name) > 1), None)
    if twice is not None:
        raise QuantityError(f"two loads are called {twice}", "give each a name of its own, or take them together")
    return loads


def load_id(name: str) -> str:
    """Return the name of a load as an installation file writes it.

    >>> load_id("Water pump"), load_id("Kühlbox")
    ('water_pump', 'kuhlbox')
    """
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:50].strip("_")


def _load(piece: str, within: str) -> LoadAnswer:
    shown = f"`{piece[:40]}`"
    found = _ONE.fullmatch(piece)
    if found is None:
        if re.search(r"[0-9]", piece) is None:
            raise QuantityError(f"{shown} has no watts or amperes", _EXAMPLE)
        raise QuantityError(f"{shown} cannot be read as a load", _EXAMPLE)
    name = " ".join(found["name"].split())
    if not re.fullmatch(r"[a-z][a-z0-9_]*", load_id(name)):
        raise QuantityError(f"{shown} has no name in plain letters", _EXAMPLE)
    span = parse_span(f"{found['number'].replace('-', ' to ')} {found['unit']}", _dimension(found["unit"]))
    if _dimension(found["unit"]) == "current":
        span = span._replace(low=span.low * AMPERES_AT, high=span.high * AMPERES_AT)
    bounds = parse_span(within, "power")
    if not bounds.low <= span.low <= span.high <= bounds.high:
        raise QuantityError(f"{shown} is out of range", f"a load lies within {within}")
    hours = None if found["hours"] is None else float(decimal_of(found["hours"], "h"))
    if hours is not None and hours > 24:
        raise QuantityError(f"{hours:g} hours a day are too many", "a day has 24 h")
    return LoadAnswer(name, format_span(span, "power", 6), hours)


def _dimension(unit: str) -> str:
    return "power" if unit.casefold().startswith(("w", "k")) else "current"

"""Writes a surveyed installation as a commented YAML text, in which each value says where it comes from.

The text loads again as it stands. It must not decide any value.
"""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.basics.errors import printable
from diagnose.model.surveyed import Surveyed, Value

__all__ = ["check_options", "installation_text"]

_WIDTH = 118
_NOTE_AT = 36  # column of the comments
_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9_ ./%-]*")
_HEAD = """\
An installation as surveyed by `diagnose new`. Behind each value stands where it comes from: `answered`, as typed;
`Enter`, the value that was offered; `not known`, a range or the layout's own value; else what it follows from.
Whatever does not stand here is as in the layout.
Local wiring rules, the makers' instructions and licensed practice come first."""
_LEFT = """\
Not asked, and as in the layout. Compare with the vehicle. To change a value, write it under its part above; a part
that is not there yet gets a line of its own under `parts:`."""


def installation_text(found: Surveyed) -> str:
    """Return the text of an installation file.

    Parameters: `found`, the installation as surveyed.
    """
    lines = [*_comment(_HEAD), f"title: {_scalar(found.title)}"]
    lines.append(_noted(f"layout: {found.layout}", found.place))
    if found.points:
        lines += ["points:", *(f"  {name}: {_flow(point)}" for name, point in found.points.items())]
    if found.parts or found.removed:
        lines.append("parts:")
    for name, keys in found.parts.items():
        whole = keys["kind"].origin if "kind" in keys else ""  # of a part the layout lacks: said once
        lines += [_noted(f"  {name}:", whole), *_keys(keys, whole)]
    lines += [_noted(f"  {name}: null", why) for name, why in found.removed.items()]
    lines += _daily(found)
    if found.notes:
        lines += ["", *_comment("To see to:")]
        for note in found.notes:
            lines += _comment(note, "- ", "  ")
    if found.left:
        lines += ["", *_comment(_LEFT)]
        lines += [f"#   {name}: {_flow(keys)}" for name, keys in found.left.items()]
    return "\n".join(lines) + "\n"


def check_options(found: Surveyed) -> str:
    """Return the options by which the hours a day are given to the design check, empty where none were told."""
    told = [f"--load-hours {name}={hours:g}" for name, hours in found.load_hours.items()]
    if found.driving is not None and (hours := _hours(str(found.driving.value))) is not None:
        told.append(f"--driving-hours {hours:g}")
    return " ".join(told)


def _hours(text: str) -> float | None:
    """Return the hours of `2 h`, the middle of `1 to 3 h`."""
    numbers = [float(number) for number in re.findall(r"[0-9.]+", text)]
    factor = 1 / 60 if "min" in text else 1.0
    return round(sum(numbers) / len(numbers) * factor, 2) if numbers else None


def _keys(keys: Mapping[str, Value], said: str) -> Iterator[str]:
    for key, (value, source) in keys.items():
        origin = "" if source == said else source
        if isinstance(value, list) and value and isinstance(value[0], dict):
            yield _noted(f"    {key}:", origin)
            yield from (f"      - {_flow(item)}" for item in value)
        else:
            yield _noted(f"    {key}: {_flow(value)}", origin)


def _daily(found: Surveyed) -> list[str]:
    """Return what this form has no key for: hours of loads and of driving."""
    if found.driving is None and not found.load_hours:
        return []
    lines = ["", *_comment("Hours a day have no key here:")]
    lines += [f"#   {name}: {hours:g} h" for name, hours in found.load_hours.items()]
    if found.driving is not None:
        lines.append(f"#   driving: {found.driving.value}    ({_clean(found.driving.origin)})")
    options = check_options(found)
    if options:
        lines += _comment(f"Give them to the design check: diagnose check THIS_FILE {options}")
    return lines


def _noted(line: str, note: str) -> str:
    note = _clean(note)
    return f"{line.ljust(_NOTE_AT)} # {note}" if note else line


def _comment(text: str, first: str = "", rest: str = "") -> list[str]:
    lines: list[str] = []
    for line in text.split("\n"):
        lines += textwrap.wrap(
            _clean(line), _WIDTH, initial_indent=f"# {first}", subsequent_indent=f"# {rest}", break_on_hyphens=False,
            break_long_words=False,
        )  # fmt: skip
    return lines


def _clean(text: str) -> str:
    """Return text that stays within one comment."""
    return printable(" ".join(text.split()))


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    return _scalar(value)


def _scalar(value: Any) -> str:
    """Return a value as a file writes it, text in quotes where it could be read as something else."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    text = _clean(str(value))
    if _PLAIN.fullmatch(text) and text.casefold() not in ("true", "false", "null") and not _number(text):
        return text
    return json.dumps(text, ensure_ascii=False)


def _number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True

"""A reading typed at a prompt: `volts charger_in charger_neg 11.9 running`, with states and quantities shortened."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from diagnose.basics.errors import BadInput
from diagnose.cli.asker import possible_words
from diagnose.cli.loading import entry_reading

if TYPE_CHECKING:
    from diagnose.model.installation import Installation
    from diagnose.model.reading import Reading

__all__ = ["HELP", "read_typed"]

HELP = """\
Type what was measured, where, what it read, and in which state:
  volts charger_in charger_neg 11.9 running      (red probe first)
  amps input_cable 0.2 A running                 ohms tray chassis OL
  lamp charging off running                      look input_fuse good
States: at_rest (if none is given), key_on, running, idle, running_loaded, loaded, cranking, mains_on, sun_only,
engine_and_sun.
`OL`, `unsteady`, `unsteady 11.8 to 13.1 V` and `skipped` are readings too; `done` ends the list."""


def read_typed(text: str, installation: Installation) -> tuple[Reading | None, str]:
    """Return a typed reading, and what was understood or why it cannot be taken."""
    from diagnose.model.reading import QUANTITIES, STATES

    words = text.replace(",", " ").split() if not _decimal_comma(text) else text.split()
    quantity = _one(words[0], tuple(QUANTITIES)) if words else None
    if quantity is None:
        return None, f"`{words[0] if words else ''}` is no quantity, begin with one of {', '.join(QUANTITIES)}"
    places = QUANTITIES[quantity][0]
    if len(words) < places + 2:
        return (
            None,
            f"{quantity} needs {'two places' if places == 2 else 'a place'} and what was read, type help for examples",
        )
    where, rest = words[1 : 1 + places], words[1 + places :]
    state = "isolated" if quantity == "ohms" else "at_rest"
    if len(rest) > 1 and (named := _state(rest[-1], STATES)) is not None:
        state, rest = named, rest[:-1]
    entry: dict[str, Any] = {
        quantity: where if places == 2 else where[0], "when": state, "read": " ".join(rest)
    }  # fmt: skip
    try:
        reading = entry_reading(entry, installation, "the reading")
    except BadInput as error:
        return None, "; ".join(p.text() for p in error.problems)
    return reading, f"taken: {quantity} {' '.join(where)}, {state.replace('_', ' ')}: {' '.join(rest)}"


def _decimal_comma(text: str) -> bool:
    return any(a.isdigit() and b == "," and c.isdigit() for a, b, c in zip(text, text[1:], text[2:], strict=False))


def _one(word: str, known: tuple[str, ...]) -> str | None:
    found = possible_words(word, known)
    return found[0] if len(found) == 1 else None


def _state(word: str, states: tuple[str, ...]) -> str | None:
    """Return the state a word means: in full, shortened, or without its `engine_`."""
    return _one(word, states) or _one(f"engine_{word}", states)

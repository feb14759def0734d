"""Help at a prompt of the walk: what may be typed, how a test is done, and the readings so far.

Wording only.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.installation import Installation
from diagnose.model.reading import Reading
from diagnose.model.rules import RuleBase
from diagnose.model.words import words_for
from diagnose.present.walk_words import test_words, wrapped
from diagnose.session.steps import Ask

__all__ = ["how_lines", "log_lines", "read_help"]

_WORDS = (
    "Words, shortened while they are clear: why, how, back (take the last answer back), cannot, ranking, "
    "why-not FAULT PART, retract NUMBER, tools LIST, repaired PART, save, stop."
)
_OTHER = (
    "A reading that nobody asked for is taken at any question: volts charger_in charger_neg 11.9 running; "
    "amps input_cable 0.2 A running; look input_fuse good."
)
_VALUES = "A value, with or without its unit: 13.8, 13,8, 138 mV, OL, <0.1, unsteady, unsteady 11.8 to 13.1 V, cannot."


def read_help(ask: Ask, width: int) -> list[str]:
    """Return what may be typed at a question."""
    take = ask.take
    lines = []
    if take is not None:
        words = words_for(take.quantity, take.meter)
        lines += wrapped(f"One of: {', '.join(words)}, cannot." if words else _VALUES, width)
    elif ask.kind == "repair":
        lines += wrapped("repaired, when it is mended; leave, to stop here; or a further reading.", width)
    return lines + wrapped(_OTHER, width) + wrapped(_WORDS, width)


def how_lines(ask: Ask, rules: RuleBase, width: int) -> list[str]:
    """Return how a test is done, and the mistakes people make with it."""
    if ask.take is None:
        return wrapped("Type what you see; help shows the words.", width)
    rule = rules.tests[ask.take.quantity]
    lines = wrapped(rule.how, width)
    for act, used in (("jumper", ask.take.jumper), ("swap", ask.take.swap)):
        if used and act in rules.tests:
            lines += wrapped(rules.tests[act].how, width)
    for mistake in rule.mistakes[:5]:
        lines += wrapped(f"Beware of {mistake.says}: it reads {mistake.reads}.", width, "  ", "  ")
    return lines


def log_lines(readings: Sequence[Reading], installation: Installation, width: int) -> list[str]:
    """Return the readings so far, numbered as `retract` counts them."""
    lines = []
    for number, reading in enumerate(readings, 1):
        if reading.repaired is not None:
            lines += wrapped(f"{number}. repaired: {reading.repaired.fault} {reading.repaired.part}", width)
        elif reading.take is not None and reading.read is not None:
            lines += wrapped(f"{number}. {test_words(reading.take, installation)}: {reading.read.text}", width)
    return lines

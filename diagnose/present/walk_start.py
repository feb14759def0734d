"""The questions at the start of a walk, in words: danger first, then where it stands, tools, meter, complaint.

Wording only: what follows from an answer is not known here.
"""

from __future__ import annotations

from diagnose.model.rules import RuleBase
from diagnose.present.walk import caution_lines
from diagnose.present.walk_words import wrapped
from diagnose.session.steps import Ask

__all__ = [
    "SIGNS", "STANDING", "TOOL_WORDS", "alarm_lines", "caution_block", "complaint_lines", "danger_lines", "start_lines",
]  # fmt: skip

#: a sign of danger -> what to do first
SIGNS: dict[str, str] = {
    "smoke": "Leave it, keep others away, and call the fire service if it goes on.",
    "heat": "Let it be. What is too hot to hold is switched off from afar, left to cool, and made dead before anyone "
    "touches it. A plug or a fuse holder that has melted is mended only then.",
    "smell": "Rotten eggs or burnt plastic: switch the source off if that is safe, air the place, make no spark, "
    "and go away from it.",
    "hiss": "Gas leaves a battery: no spark, no switch near it, go away and keep others away.",
    "swelling": "Never charge, move or open a swollen battery. Switch the source off if that is safe; leave it.",
    "wet": "Wet cables and batteries are not touched. Switch the source off where it is dry and safe, then let it dry.",
}
#: where a vehicle may stand -> in words
STANDING: dict[str, str] = {
    "off_road": "off the road, in a yard, at home or in a workshop",
    "roadside": "at the roadside",
    "boat": "it is a boat, afloat or ashore",
}
#: tool -> in words
TOOL_WORDS: dict[str, str] = {
    "multimeter": "a multimeter", "clamp": "a clamp meter for direct current", "eyes": "eyes", "hands": "hands",
    "thermometer": "a surface thermometer", "test_lamp": "a test lamp of 21 W", "load_tester": "a battery load tester",
    "hydrometer": "a hydrometer",
}  # fmt: skip
ASKS: dict[str, str] = {
    "alarm": "First of all: does anything smoke, run hot, smell, hiss, swell, or lie in the wet?",
    "standing": "Where does it stand?",
    "tools": "Which tools are at hand?",
    "meter": "Prove the meter: put it on a battery you know to be good. What does it show?",
    "complaint": "What is the complaint?",
    "seen": "What has been seen or measured already?",
}

#: event -> why danger is asked for once more after it
_ONCE_MORE = {
    "complaint": "That may be dangerous. So once more, as it is now:",
    "reopen": "Before it goes on, once more, as it is now:",
}


def start_lines(kind: str, rules: RuleBase, width: int) -> list[str]:
    """Return a question of the start, with what may be answered."""
    lines = wrapped(ASKS[kind], width)
    if kind == "alarm":
        lines += wrapped(f"Answer: none; or which: {', '.join(SIGNS)}.", width)
    elif kind == "standing":
        lines += [line for w, said in STANDING.items() for line in wrapped(f"{w:<9} {said}", width, "  ", " " * 10)]
    elif kind == "tools":
        lines += wrapped(
            "Enter takes multimeter, clamp, eyes and hands. Else name them, or write all, or plus and minus: "
            f"minus clamp, plus thermometer. Known are {', '.join(TOOL_WORDS)}.", width
        )  # fmt: skip
    elif kind == "meter":
        lines += wrapped(
            "Red lead in the volts socket, black in common, dial on DC volts: a good 12 V battery shows 12.2 to "
            "14.8 V. Type what it shows, or cannot.", width
        )  # fmt: skip
    elif kind == "complaint":
        lines += wrapped("Say it in your own words; or a number from the list (type list); or none.", width)
    else:
        lines += wrapped(
            "One at a time, such as: volts charger_in charger_neg 11.9 running. Beginnings are enough. "
            "Type help for the forms, or done.", width
        )  # fmt: skip
    return lines


def complaint_lines(rules: RuleBase, width: int) -> list[str]:
    """Return the numbered list of complaints."""
    lines = []
    for number, rule in enumerate(rules.complaints.values(), 1):
        lines += wrapped(f"{number:2d}  {rule.says}", width, hang="    ")
    return lines


def caution_block(ask: Ask, width: int) -> list[str]:
    """Return the cautions of a question of the start."""
    return caution_lines(ask.cautions, width)


def alarm_lines(after: str, width: int) -> list[str]:
    """Return why the question about danger comes once more, after an event of some kind; nothing if it comes first."""
    return wrapped(_ONCE_MORE[after], width) if after in _ONCE_MORE else []


def danger_lines(sign: str, dangers: tuple[str, ...], rules: RuleBase, chemistries: set[str], width: int) -> list[str]:
    """Return what to do in a danger: the sign named, or the readings that mean it."""
    lines = ["DANGER"]
    if sign in SIGNS:
        lines += wrapped(SIGNS[sign], width)
    for danger in dangers:
        lines += wrapped(danger[:1].upper() + danger[1:] + ".", width)
    ids = ["battery_danger", *(["lithium_alarm", "lithium_fire"] if "lfp" in chemistries else [])]
    for name in ids:
        lines += wrapped(rules.cautions[name].says, width)
    last = "The walk ends here. It can be taken up again when a competent person has made it safe."
    return [*lines, *wrapped(last, width)]

"""Practice at a terminal: the story and the wiring, each answer of the meter, the score, the debrief.

It words what it is given and computes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.installation import Installation, name_of
from diagnose.model.practice import PracticeCase, Score, Step
from diagnose.model.reading import QUANTITIES
from diagnose.model.rules import RuleBase
from diagnose.model.terminals import points_of
from diagnose.practice.debrief import Debrief, Replayed
from diagnose.present.terminal import FIRST_WORDS, take_words
from diagnose.present.walk_words import fault_words, wrapped

__all__ = [
    "case_lines", "debrief_lines", "points_lines", "read_words", "replayed_words", "score_lines", "step_lines",
    "wiring_lines",
]  # fmt: skip

_FOUND = {True: "yes", False: "NO"}


def case_lines(case: PracticeCase, installation: Installation, width: int, wiring: bool = True) -> list[str]:
    """Return the opening of a case: title, story, complaint, tools, wiring."""
    lines = [*wrapped(case.title, width), "", *wrapped(" ".join(case.story.split()), width)]
    lines += ["", *wrapped(f"Complaint: {(case.complaint or 'none').replace('_', ' ')}", width)]
    lines += wrapped(f"Vehicle: {installation.title}", width)
    lines += wrapped(f"Tools: {', '.join(case.tools)}. Level {case.level} of 5.", width)
    if wiring:
        lines += ["", "Wiring:", *wiring_lines(installation, width)]
    lines += ["", *wrapped(FIRST_WORDS, width)]
    return [*lines, *wrapped("Type an act, such as volts charger_in charger_neg running; help shows them all.", width)]


def wiring_lines(installation: Installation, width: int) -> list[str]:
    """Return every part with the points that it joins, one a line."""
    lines = []
    for name, part in installation.parts.items():
        ends = list(dict.fromkeys(points_of(part)))
        rating = getattr(part, "rating", None)
        told = f" {rating.mid:g} A" if part.kind == "fuse" and rating is not None else ""
        lines += wrapped(f"{name} ({part.kind}{told}): {' - '.join(ends)}", width, "  ", "    ")
    return lines


def read_words(step: Step) -> str:
    """Return what was read, with its unit."""
    if step.read is None or step.act.take is None:
        return ""
    unit = QUANTITIES[step.act.take.quantity][1]
    text = step.read.text
    bare = step.read.kind == "number" and text.replace(".", "").replace("-", "").replace("e", "").isdigit()
    bare = bare or (step.read.kind == "unsteady" and text != "unsteady")
    return f"{text} {unit}" if bare and unit else text


def step_lines(
    step: Step, width: int, installation: Installation, rules: RuleBase, given: set[str]
) -> list[str]:  # fmt: skip
    """Return what is said to an act: cautions first, then what was read, lessons, the clock.

    Parameters: `given`, the ids of cautions that were shown already, which grows.
    """
    lines = []
    for name in step.cautions:
        if name not in given:
            lines += wrapped(f"Caution: {rules.cautions[name].says}", width)
            given.add(name)
    if step.read is not None and step.act.take is not None:
        lines += wrapped(f"{take_words(step.act.take)}: {read_words(step)}", width)
    elif step.act.kind == "repair" and "unsafe" not in step.flags:
        mended = fault_words(step.act.named[0], installation, rules)
        lines += wrapped(f"Mended: {mended}. Prove it by a reading.", width)
    elif step.act.kind == "diagnosis":
        named = " and ".join(fault_words(f, installation, rules) for f in step.act.named) or "nothing is wrong"
        sure = "" if step.act.confidence is None else f", {step.act.confidence:.0%} sure"
        lines += wrapped(f"Noted: {named}{sure}.", width)
    elif "unsafe" not in step.flags:
        lines += [_DONE.get(step.act.kind, "Done.")]
    lines += [line for text in step.lessons for line in wrapped(text, width)]
    return [*lines, f"[{step.clock:g} min]"]


def score_lines(score: Score, width: int) -> list[str]:
    """Return the score: gates first, then a line each."""
    lines = [f"{'PASSED' if score.passed else 'NOT PASSED'}, {score.points} points of 100"]
    lines += [line for gate in score.gates for line in wrapped(f"Not passed because of: {gate}", width, "  ", "  ")]
    textbook = "" if score.textbook_minutes is None else f", textbook order {score.textbook_minutes:g}"
    rows = [
        ("found", _FOUND[score.found]), ("proved", _FOUND[score.proved]),
        ("unsafe acts", str(score.unsafe)),
        ("parts changed in vain", str(score.parts_swapped_in_vain)),
        ("parts changed unproved", str(score.swapped_unproved)),
        ("minutes", f"{score.minutes:g} (best policy {score.best_minutes:g}{textbook})"),
        ("errors of inference", str(score.wrong_inferences)),
        ("invalid readings", str(score.invalid)),
        ("redundant tests", f"{score.redundant} of {score.tests}"),
        ("confidence", "not stated" if score.brier is None else f"off by {score.brier:.2f} (0 best, 1 worst)"),
    ]  # fmt: skip
    return lines + [f"  {name:<24}{value}" for name, value in rows]


def debrief_lines(debrief: Debrief, width: int, installation: Installation, rules: RuleBase) -> list[str]:
    """Return the debrief: the truth, where the ways parted, each step beside the best, one habit."""
    told = " and ".join(fault_words(f, installation, rules) for f in debrief.truth) or "nothing was wrong"
    lines = wrapped(f"It was: {told}.", width)
    if debrief.parted is None:
        lines += wrapped("No test of yours told much less a minute than the best one then.", width)
    else:
        lines += wrapped(f"You and the best way parted first at act {debrief.parted}.", width)
    for replayed in debrief.steps:
        lines += ["", *_replayed(replayed, replayed.step.number == debrief.parted, width, installation, rules)]
    return [*lines, "", *wrapped(f"One habit to work on: {debrief.habit}", width)]


def _replayed(
    replayed: Replayed, first: bool, width: int, installation: Installation, rules: RuleBase
) -> Iterator[str]:  # fmt: skip
    step = replayed.step
    mark = " <- here the ways part" if first else " <- told much less than the best" if replayed.parted else ""
    read = read_words(step)
    yield from wrapped(f"{step.number}. {step.act.text}{f': {read}' if read else ''}{mark}", width, "", "   ")
    for note in (*step.lessons, *replayed.notes):
        yield from wrapped(note[:1].upper() + note[1:], width, "   ", "  ")
    if step.read is None:
        return
    own, best, moved = replayed_words(replayed, installation, rules)
    for text in filter(None, (own, best, *moved)):
        yield from wrapped(text, width, "   ", "  ")


def replayed_words(
    replayed: Replayed, installation: Installation, rules: RuleBase
) -> tuple[str, str, tuple[str, ...]]:  # fmt: skip
    """Return what a test could tell, the best one then, and what it did to each suspect, in words and in decibels.

    The first two are empty where that is not known.
    """
    step, best, own, other = replayed.step, replayed.best, "", ""
    if replayed.bits is not None:
        places = f"{replayed.alive} place{'' if replayed.alive == 1 else 's'}"
        own = f"could tell {replayed.bits:.2f} bits in {step.minutes:g} min; {places} suspected before"
    if best is not None:
        other = f"best then: {take_words(best.take)}, {best.information_bits:.2f} bits in {best.minutes:g} min"
    moved = []
    for one in replayed.moved:
        name = "a sound vehicle" if one.fault is None else fault_words(one.fault, installation, rules)
        what = "excluded" if one.chance < 0.01 else "spoke against" if one.db < 0 else "spoke for"
        moved.append(f"{what} {name}: {one.db:+.0f} dB, now {one.chance:.0%}")
    return own, other, tuple(moved)


def points_lines(installation: Installation, width: int) -> list[str]:
    """Return the points with their names."""
    return [line for p in installation.points for line in wrapped(f"{p}: {name_of(p, installation)}", width, "  ")]


_DONE = {
    "state": "The vehicle is in that state now.", "jumper": "The jumper is fitted; remove takes it away.",
    "swap": "The known-good part is in; remove puts the old one back.", "remove": "Removed.",
    "zero": "The clamp shows 0 with nothing in its jaws.", "suspects": "Noted.", "stop": "Over.",
}  # fmt: skip

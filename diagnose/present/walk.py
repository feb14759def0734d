"""A question of the walk and the meaning of an answer, as lines for a terminal of any width; no colour is needed.

Cautions come before the instruction, always. Each function shows one record and computes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.installation import Installation
from diagnose.model.ranking import Ranking
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.model.states import OPERATING_STATES
from diagnose.model.words import words_for
from diagnose.present.walk_line import Row, number_line
from diagnose.present.walk_words import figure, place_words, suspect_words, test_words, where_words, wrapped
from diagnose.session.steps import Ask, Meaning, Reminder

__all__ = [
    "SIDE", "beside", "caution_lines", "meaning_lines", "question_lines", "ranking_side", "slip_words", "why_lines",
]  # fmt: skip

#: a slip -> the question that names it kindly
_SLIPS = {
    "decimal": "a decimal point, or mV read as V (look at the unit and every mark on the display)",
    "sign": "the probes, or the arrow of the clamp, the other way round",
    "paint": "a probe on paint, on the clamp instead of the post, or not on bare metal",
    "socket": "a lead in the wrong socket, or the dial on another range",
    "clamp_zero": "the clamp not zeroed there just before",
    "both_wires": "the clamp round two wires, or not closed",
    "no_current": "nothing drawing current",
    "idle": "the engine at idle, where 1,200 rev/min were meant",
    "leads": "the leads not touched together first, or a source still joined",
}
SIDE = 38  # columns of the ranking beside a question


def slip_words(slips: Sequence[str]) -> str:
    """Return likely slips in one sentence."""
    return "; or ".join(_SLIPS.get(slip, slip) for slip in slips)


def caution_lines(cautions: Sequence[Reminder], width: int) -> list[str]:
    """Return cautions: the new ones in full, the others in brief."""
    lines = [line for c in cautions if c.new for line in wrapped(f"Caution: {c.says}", width, hang="  ")]
    held = [c.brief for c in cautions if not c.new]
    return lines + (wrapped(f"Still holds: {'; '.join(held)}.", width, hang="  ") if held else [])


def question_lines(ask: Ask, installation: Installation, rules: RuleBase, width: int) -> list[str]:
    """Return a test that is asked for: cautions, state, places, why, and what may be answered."""
    take = ask.take
    assert take is not None
    lines = [_heading(ask), *caution_lines(ask.cautions, width)]
    if ask.kind == "doubt":
        return lines + _doubt(ask, width)
    lines += _reason(ask, width)
    lines += wrapped(f"State: {OPERATING_STATES[take.when].says}.", width)
    lines += _places(take, installation, rules, width)
    if ask.expected is not None:
        lines += wrapped(f"To be seen: {_expected(ask)}.", width)
    elif ask.kind == "test":
        lines += wrapped(f"Why: {_why(ask, installation, rules)}.", width)
    return lines + wrapped(_prompt(take), width)


def _heading(ask: Ask) -> str:
    if ask.kind == "proof":
        return "Neighbour of the repair" if ask.neighbour else "Proof of the repair"
    return f"Question {ask.number}" + (f" (about {ask.minutes:g} min)" if ask.kind == "test" else "")


def _reason(ask: Ask, width: int) -> list[str]:
    if ask.kind == "again":
        return wrapped(f"Once more, please: {ask.why}.", width)
    if ask.kind == "proof" and not ask.neighbour:
        return wrapped("Now the reading that shows whether the repair holds.", width)
    if ask.kind == "proof":
        return wrapped("The repair may have disturbed what lies beside it; this shows that it did not.", width)
    return []


def _doubt(ask: Ask, width: int) -> list[str]:
    assert ask.pending is not None
    assert ask.pending.read is not None
    lines = wrapped(f"{ask.pending.read.text}: nothing known here reads like that.", width)
    lines += wrapped(f"Could it be {slip_words(ask.slips)}?", width)
    return lines + wrapped("Read it once more and type what you see; or keep, if it stands; or cannot.", width)


def _places(take: Take, installation: Installation, rules: RuleBase, width: int) -> list[str]:
    """Return where probes, clamp, eyes or hands go."""
    first = where_words(take.where[0], installation)
    fitted = []
    if take.jumper:
        ends = " to ".join(place_words(p, installation) for p in take.jumper)
        fitted = wrapped(f"First fit a fused jumper lead: {ends}.", width)
    elif take.swap:
        fitted = wrapped(f"First fit a known-good {place_words(take.swap, installation)}, like for like.", width)
    if len(take.where) == 2:
        second = where_words(take.where[1], installation)
        lamp = "Test lamp" if take.meter == "test_lamp" else "Ohms" if take.quantity == "ohms" else "DC volts"
        lamp = "AC volts" if take.quantity == "ripple" else lamp
        return [
            *fitted, *wrapped(f"{lamp}. Red probe: {first}.", width), *wrapped(f"Black probe: {second}.", width)
        ]  # fmt: skip
    if take.quantity == "lamp":
        return [*fitted, *wrapped(f"Look at the lamp `{take.where[0]}` on the charger.", width)]
    acts = {
        "amps": "Zero the clamp, then close it round", "celsius": "Hold the thermometer on", "look": "Look closely at",
        "smell": "Smell, from a step away, at", "works": "Switch on, and see whether it does its job:",
        "tug": "Tug gently at", "wiggle": "Wiggle, while the lamp or the reading is watched,",
        "load_test": "Load for 15 s, at half its cranking amperes,", "gravity": "Draw acid from each cell of",
    }  # fmt: skip
    return [*fitted, *wrapped(f"{acts.get(take.quantity, 'Read')} the {first}.", width)]


def _why(ask: Ask, installation: Installation, rules: RuleBase) -> str:
    names = [suspect_words(label, installation, rules) for label, _ in ask.expect[:2]]
    return f"it tells {names[0]} from {names[1]}" if len(names) > 1 else "it tells most now"


def _prompt(take: Take) -> str:
    words = words_for(take.quantity, take.meter)
    if words:
        return f"What do you find: {', '.join(words)}? (or help, how, why, cannot, back, ranking, stop)"
    return "What does it read? (a value; or help, how, why, cannot, back, ranking, stop)"


def _expected(ask: Ask) -> str:
    expected = ask.expected
    assert expected is not None
    if expected.low is not None and expected.high is not None:
        return f"{figure(expected.low, expected.unit)} to {figure(expected.high, expected.unit)}"
    return " or ".join(word for word, chance in expected.chances if chance >= 0.1) or "as before the fault"


def meaning_lines(meaning: Meaning, installation: Installation, rules: RuleBase, width: int, proof: bool) -> list[str]:
    """Return what a reading means: in words, then as a number line; `proof` leaves the suspects out."""
    read = meaning.read.text
    if meaning.words:
        usual = " or ".join(word for word, chance in meaning.words if chance >= 0.1)
        said = "as on a sound vehicle" if meaning.verdict == "as_sound" else f"a sound vehicle shows {usual}"
        lines = wrapped(f"{read}: {said}.", width)
        return lines if proof else lines + _by_word(meaning, installation, rules, width)
    if meaning.low is None or meaning.high is None:
        sound = "over range" if meaning.high is None and meaning.low is None else "very high"
        return wrapped(f"{read}: a sound vehicle reads {sound} here.", width)
    band = f"{figure(meaning.low, meaning.unit)} to {figure(meaning.high, meaning.unit)}"
    verdicts = {
        "as_sound": f"as on a sound vehicle ({band})", "below": f"below what a sound vehicle reads here ({band})",
        "above": f"above what a sound vehicle reads here ({band})", "unlike": f"a sound vehicle reads {band} here",
    }  # fmt: skip
    lines = wrapped(f"{read}: {verdicts.get(meaning.verdict, f'sound is {band}')}.", width)
    if meaning.little and not proof:
        lines += wrapped(
            "It tells little: hardly any current was flowing there. To make it count, let the charger work (1,200 "
            "rev/min or more, battery below 80 %) or switch the loads on, and take it again.", width
        )  # fmt: skip
    return lines + number_line(_rows(meaning, installation, rules, proof), meaning.unit, min(width, 76))


def _rows(meaning: Meaning, installation: Installation, rules: RuleBase, proof: bool) -> list[Row]:
    assert meaning.low is not None
    assert meaning.high is not None
    rows: list[Row] = [("sound", meaning.low, meaning.high)]
    if meaning.read.value is not None:
        rows.append(("read", meaning.read.value, meaning.read.high or meaning.read.value))
    for label, low, high, _ in () if proof else meaning.suspects[:3]:
        if low is not None and high is not None and label in _known(label, rules):
            rows.append((suspect_words(label, installation, rules), min(low, high), max(low, high)))
    return rows


def _known(label: str, rules: RuleBase) -> tuple[str, ...]:
    return (label,) if label.partition(" ")[0] in rules.faults else ()


def _by_word(meaning: Meaning, installation: Installation, rules: RuleBase, width: int) -> list[str]:
    lines = []
    for label, _, _, text in meaning.suspects[:3]:
        if _known(label, rules):
            lines += wrapped(f"{suspect_words(label, installation, rules)}: {text}", width, "  ", "  ")
    return lines


def why_lines(ask: Ask, installation: Installation, rules: RuleBase, width: int) -> list[str]:
    """Return why a test is asked: what each leading suspect would read."""
    if ask.take is None:
        return wrapped("This is asked first because all that follows rests on it.", width)
    if ask.kind == "proof":
        return wrapped("Without a reading a repair is a hope. It must now be as on a sound vehicle.", width)
    lines = wrapped(f"{test_words(ask.take, installation)}.", width)
    for label, text in ask.expect:
        lines += wrapped(f"{suspect_words(label, installation, rules)}: {text}", width, "  ", "  ")
    return lines + ([f"  {ask.minutes:g} min; {ask.why.rpartition(' at ')[2]}"] if ask.kind == "test" else [])


def ranking_side(ranking: Ranking, installation: Installation, rules: RuleBase) -> list[str]:
    """Return the ranking as a narrow column."""
    lines = ["Suspects now"]
    for entry in ranking.faults[:5]:
        if entry.probability >= 0.01:
            fault = entry.fault
            label = " ".join(p for p in (fault.fault, fault.part, fault.at) if p)
            words = suspect_words(label, installation, rules)
            lines += wrapped(f"{entry.probability:4.0%} {words}", SIDE - 3, hang="     ")
    lines += [f"{ranking.no_fault:4.0%} nothing is wrong", f"{ranking.unlisted:4.0%} not in the rule base"]
    return lines


def beside(left: Sequence[str], right: Sequence[str], width: int) -> list[str]:
    """Return two columns of lines, the right one at the edge of the width."""
    column = width - SIDE
    count = max(len(left), len(right))
    filled = [(*left, *[""] * (count - len(left))), (*right, *[""] * (count - len(right)))]
    return [f"{a:<{column}} | {b}".rstrip() if b else a for a, b in zip(*filled, strict=True)]

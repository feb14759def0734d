"""How a walk ends, as lines: the fault with evidence and what to do, the proof, or an honest other end.

Each function shows one record; cautions of a repair come before the repair.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from diagnose.model.installation import Installation
from diagnose.model.parts import Battery
from diagnose.model.ranking import Entry
from diagnose.model.rules import RuleBase
from diagnose.present.terminal import FIRST_WORDS
from diagnose.present.walk import caution_lines
from diagnose.present.walk_start import danger_lines
from diagnose.present.walk_words import fault_words, test_words, wrapped
from diagnose.session.steps import Finding, Reminder

__all__ = ["finding_lines", "found_lines"]

_CALL = "Call whoever fitted it, the maker's help line, or a licensed auto electrician, and give them this report."
_INTERMITTENT = (
    "It comes and goes. Plan: leave the lamp or the meter where it is watched; wiggle each joint of the run, one at a "
    "time; warm it by half an hour of full load; drive it on a rough road; note each time what was on, how hot it "
    "was, and what the meter read just then. Take the walk up again when it shows."
)


def found_lines(
    finding: Finding, cautions: Sequence[Reminder], installation: Installation, rules: RuleBase, width: int
) -> list[str]:
    """Return a fault that was found: evidence, what to buy, cautions, repair, proof."""
    entry = finding.entry
    assert entry is not None
    lines = wrapped(f"FOUND: {fault_words(entry.fault, installation, rules)} ({entry.probability:.0%}).", width)
    lines += wrapped(rules.faults[entry.fault.fault].says, width)
    if any(m.place == entry.fault.place for m in finding.mended):
        lines += wrapped("It was mended before, and still reads like that: the repair did not hold.", width)
    if entry.size is not None:
        size = entry.size
        lines += wrapped(f"About {size.value:.3g} {size.unit} ({size.low:.2g} to {size.high:.2g}).", width)
    lines += _evidence(entry, width)
    for cause in entry.causes[:2]:
        lines += wrapped(f"Likely cause, {cause.probability:.0%}: {cause.says}", width)
    for other in finding.suspects:
        lines += wrapped(f"Else, {other.probability:.0%}: {fault_words(other.fault, installation, rules)}.", width)
    lines += wrapped(f"To buy: {finding.buy}.", width)
    lines += caution_lines(cautions, width)
    lines += wrapped(f"Repair, about {finding.minutes:g} min: {entry.remedy}", width)
    return [*lines, *wrapped(f"Proof: {entry.proof}", width)]


def _evidence(entry: Entry, width: int) -> list[str]:
    lines = []
    for sign, reasons in (("For", entry.reasons_for), ("Against", entry.reasons_against)):
        for reason in reasons[:3]:
            lines += wrapped(f"{sign} ({abs(reason.db):.0f} dB): {reason.says}.", width)
    return lines


def finding_lines(finding: Finding, installation: Installation, rules: RuleBase, width: int) -> list[str]:
    """Return how a walk ended."""
    if finding.because == "danger":
        chemistries: set[str] = {p.chemistry for p in installation.parts.values() if isinstance(p, Battery)}
        return danger_lines(finding.says, finding.dangers, rules, chemistries, width)
    said = _ENDS.get(finding.because, _spent)(finding, installation, rules)
    lines = [line for text in said for line in wrapped(text, width)]
    return [*lines, *wrapped(FIRST_WORDS, width)]


Said = list[str]


def _repaired(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    faults = " and ".join(fault_words(f, installation, rules) for f in finding.mended)
    said = [f"REPAIRED AND PROVED: {faults}."]
    vain = " and ".join(fault_words(f, installation, rules) for f in finding.vain)
    said += [f"Mended too, without a sign that it was needed: {vain}."] if vain else []
    said += [f"Seen after the repair: {test_words(t, installation)}: as it should be." for t in finding.proved]
    said += [f"Not quite: {test_words(t, installation)}. Look at it again after a week of use." for t in finding.watch]
    return [
        *said,
        "Write the readings down for the next time; they are in the record of this job.",
        "A second fault can hide behind the first: where anything is still not right, go on with this job.",
    ]


def _no_fault(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    said = ["NOTHING IS WRONG: the readings are those of a sound installation in this state."]
    for name, chance in finding.states[:3]:
        state = rules.operating_states.get(name)
        if state is not None:
            said.append(f"Why it looked so ({chance:.0%}): {state.name}. {state.right} {state.shows}")
    return said


def _unlisted(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    return [
        "NOT IN THE RULE BASE: no fault that is known here explains these readings.",
        *_known(finding, installation, rules), _CALL,
    ]  # fmt: skip


def _known(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    return [f"Left, {e.probability:.0%}: {fault_words(e.fault, installation, rules)}." for e in finding.suspects]


def _inseparable(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    said = ["CANNOT BE TOLD APART with these tools:", *_known(finding, installation, rules)]
    return said + _settle(finding, installation)


def _settle(finding: Finding, installation: Installation) -> Said:
    if finding.settle is None:
        return ["What would settle it: a known-good part fitted for the likeliest, one at a time, like for like."]
    return [f"What would settle it: {test_words(finding.settle.take, installation)}."]


def _intermittent(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    return ["IT COMES AND GOES.", *_known(finding, installation, rules), _INTERMITTENT]


def _spent(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    said = [f"NO TEST WITH THESE TOOLS PAYS ANY MORE: {finding.says}.", *_known(finding, installation, rules)]
    return said + _settle(finding, installation) + [_CALL]


def _not_proved(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    each = dict.fromkeys(fault_words(f, installation, rules) for f in finding.mended)
    said = [f"MENDED, NOT PROVED: {' and '.join(each)}." if each else "NOT PROVED."]
    known = _known(finding, installation, rules)
    if len(each) < len(finding.mended):
        return [*said, _TWICE, *known, _CALL]
    return said + known + _settle(finding, installation) + [_CALL]


def _left(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    assert finding.entry is not None
    fault = fault_words(finding.entry.fault, installation, rules)
    return [f"FOUND, NOT MENDED YET: {fault}.", f"To buy: {finding.buy}.", f"Afterwards: {finding.entry.proof}"]


def _stopped(finding: Finding, installation: Installation, rules: RuleBase) -> Said:
    return ["PUT AWAY: all that was told is kept."]


_TWICE = "What was mended twice shows still: find out why the repair does not last before another part is spent."
_ENDS: dict[str, Callable[[Finding, Installation, RuleBase], Said]] = {
    "repaired": _repaired, "no_fault": _no_fault, "unlisted": _unlisted, "inseparable": _inseparable,
    "intermittent": _intermittent, "not_proved": _not_proved, "left": _left, "stopped": _stopped,
}  # fmt: skip

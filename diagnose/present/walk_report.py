"""A job as a report for the terminal: what was told and read, what follows, how it stands; and the list of jobs.

The report is a record of what was done, never a certificate. Wording only.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.installation import Installation
from diagnose.model.ranking import Ranking
from diagnose.model.rules import RuleBase
from diagnose.present.terminal import FIRST_WORDS
from diagnose.present.walk_finding import finding_lines, found_lines
from diagnose.present.walk_start import STANDING
from diagnose.present.walk_words import fault_words, test_words, wrapped
from diagnose.session.facts import Facts
from diagnose.session.steps import Ask, Finding

__all__ = ["job_lines", "report_lines", "state_words"]

_HERE = {
    "alarm": "begun", "standing": "begun", "tools": "begun", "meter": "begun", "complaint": "begun", "seen": "begun",
    "test": "under test", "doubt": "under test", "again": "under test", "repair": "found, to be mended",
    "proof": "mended, to be proved", "ended": "ended", "done": "repaired and proved", "danger": "danger",
    "stopped": "put away",
}  # fmt: skip


def state_words(state: str) -> str:
    """Return where a job stands, in words.

    >>> state_words("proof")
    'mended, to be proved'
    """
    return _HERE.get(state, state)


def job_lines(jobs: Sequence[tuple[str, str, str, str, int]], width: int) -> list[str]:
    """Return the list of jobs.

    Parameters: `jobs`, each its id, date, state, what it is of, and the number of answers; `width` [columns].
    """
    lines = []
    for name, begun, state, title, answers in jobs:
        lines += wrapped(f"{name}  {begun}  {state_words(state)}  {title}, {answers} answers", width)
    return lines


def report_lines(
    job: str, begun: str, facts: Facts, step: Ask | Finding, ranking: Ranking | None, installation: Installation,
    rules: RuleBase, width: int,
) -> list[str]:  # fmt: skip
    """Return a report.

    Parameters: `job`, its name; `begun`, when; `facts`, what was told; `step`, what is asked now or how it ended;
    `ranking`, None where nothing was weighed yet.
    """
    complaint = rules.complaints.get(facts.complaint or "")
    lines = [f"Job {job}, begun {begun}", *wrapped(installation.title, width)]
    lines += wrapped(f"Stands: {state_words(facts.state)}", width)
    lines += wrapped(f"Complaint: {complaint.says if complaint else facts.complaint or 'none'}", width)
    lines += wrapped(f"Where: {STANDING.get(facts.standing or '', 'not told')}", width)
    lines += wrapped(f"Tools: {', '.join(facts.tools or ()) or 'not told'}", width)
    meter = facts.meter.text if facts.meter is not None and facts.meter.kind != "skipped" else "not proved"
    lines += [*wrapped(f"Meter on a known battery: {meter}", width), "", "Readings"]
    lines += _readings(facts, installation, rules, width) or ["none"]
    lines.append("")
    if isinstance(step, Finding):
        return lines + finding_lines(step, installation, rules, width)
    if step.finding is not None:
        lines += found_lines(step.finding, step.cautions, installation, rules, width)
    elif ranking is not None:
        lines.append("Suspects")
        for entry in ranking.faults[:5]:
            if entry.probability >= 0.01:
                words = fault_words(entry.fault, installation, rules)
                lines += wrapped(f"{entry.probability:4.0%} {words}", width, hang="     ")
        lines.append(f"{ranking.no_fault:4.0%} nothing is wrong")
    return [*lines, "", *wrapped(FIRST_WORDS, width)]


def _readings(facts: Facts, installation: Installation, rules: RuleBase, width: int) -> list[str]:
    lines = []
    for number, reading in enumerate(facts.readings, 1):
        if reading.repaired is not None:
            lines += wrapped(f"{number}. Repaired: {fault_words(reading.repaired, installation, rules)}", width)
        elif reading.take is not None and reading.read is not None:
            kept = ", confirmed" if reading.take in facts.kept else ""
            lines += wrapped(f"{number}. {test_words(reading.take, installation)}: {reading.read.text}{kept}", width)
    return lines

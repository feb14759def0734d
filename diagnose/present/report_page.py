"""A job as one page: what was told and read, the wiring picture with the readings in place, what follows, what is open.

The page is a record of what was done, never a certificate. It shows and computes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.ranking import Ranking, Reason
from diagnose.model.rules import RuleBase
from diagnose.present.pages import Markup, markup, page
from diagnose.present.terminal import FIRST_WORDS
from diagnose.present.walk_report import state_words
from diagnose.present.walk_start import STANDING
from diagnose.present.walk_words import fault_words, test_words
from diagnose.session.facts import Facts

__all__ = ["Origin", "report_page", "statement_page"]


class Origin(NamedTuple):
    """Which job this is of: its name, date as typed, and what its rule base and installation were."""

    job: str
    begun: str
    version: str
    rules: str
    installation: str
    other_rules: bool


_HEAD = """\
<h1>{{ title }}: {{ kind }}</h1>
<p class="mark">This is a record of what was done and read. It is not a certificate.</p>
<p class="caution"><b>Caution:</b> {{ first_words }}</p>
{% for says in cautions %}<p class="caution"><b>Caution:</b> {{ says }}</p>{% endfor %}
<table><tr><th scope="row">Job</th><td>{{ o.job }}, begun {{ o.begun }}</td></tr>
<tr><th scope="row">Stands</th><td>{{ stands }}</td></tr>
<tr><th scope="row">Complaint</th><td>{{ complaint }}</td></tr>
<tr><th scope="row">Where</th><td>{{ where }}</td></tr>
<tr><th scope="row">Tools</th><td>{{ tools }}</td></tr>
<tr><th scope="row">Meter on a known battery</th><td>{{ meter }}</td></tr>
<tr><th scope="row">Record made with</th><td>program {{ o.version }}, rule base {{ o.rules }}, installation
{{ o.installation }}{% if o.other_rules %}; the rule base has changed since the job began{% endif %}</td></tr></table>
"""
_READINGS = """\
<h2>Readings, in order</h2>
<table><tr><th scope="col" class="n">No.</th><th scope="col">What and where</th><th scope="col">Read</th></tr>
{% for n, what, read in readings %}<tr><td>{{ n }}</td><td>{{ what }}</td><td>{{ read }}</td></tr>
{% endfor %}</table>
"""
_REPORT = """\
{{ head }}
{{ table }}
<h2>What follows from them</h2>
<ul>{% for line in follows %}<li>{{ line }}</li>{% endfor %}</ul>
<h2>Open points</h2>
<ul>{% for line in open %}<li>{{ line }}</li>{% endfor %}</ul>
<h2>Wiring, with the readings in place</h2>
<p class="small">A thick line marks a part at fault or repaired. A dot joins wires; wires that cross without a dot are
not joined. The number before a reading is its number in the table.</p>
<figure class="halves">{{ picture }}</figure>
"""
_STATEMENT = """\
{{ head }}
<h2>Facts: what was read or seen</h2>
{{ table }}
<h2>Inference: which reading convicts which part</h2>
<ul>{% for line in convicts %}<li>{{ line }}</li>{% endfor %}</ul>
<h2>What stays unproven</h2>
<ul>{% for line in open %}<li>{{ line }}</li>{% endfor %}</ul>
"""


def report_page(
    origin: Origin, facts: Facts, ranking: Ranking | None, installation: Installation, rules: RuleBase, picture: str
) -> str:
    """Return the report; `picture` is the SVG of the wiring, made with escaping on."""
    body = markup(
        _REPORT, head=_head("report", origin, facts, installation, rules), table=_table(facts, installation, rules),
        follows=_follows(facts, ranking, installation, rules), open=_open(facts, ranking, installation, rules),
        picture=Markup(picture),
    )  # fmt: skip
    return page(f"{installation.title}: report", body)


def statement_page(
    origin: Origin, facts: Facts, before: Ranking | None, installation: Installation, rules: RuleBase,
    ranking: Ranking | None,
) -> str:  # fmt: skip
    """Return the statement for a warranty desk.

    Parameters: `before`, what was thought of the readings up to the first repair; `ranking`, of all readings.
    """
    convicts = [line for e in (before.faults if before else ()) if e.convicted and e.probability >= 0.5
                for line in _convicting(e.fault, e.probability, e.reasons_for, installation, rules)]  # fmt: skip
    others = [e for e in (before.faults if before else ()) if 0.01 <= e.probability < 0.5]
    left = [
        f"{fault_words(e.fault, installation, rules)}: {e.probability:.0%} on the readings before any repair, "
        "neither convicted nor cleared" for e in others
    ]  # fmt: skip
    body = markup(
        _STATEMENT, head=_head("statement", origin, facts, installation, rules),
        table=_table(facts, installation, rules), convicts=convicts or ["No reading convicts a part."],
        open=[*left, *_open(facts, ranking, installation, rules)],
    )  # fmt: skip
    return page(f"{installation.title}: statement", body)


def _head(kind: str, origin: Origin, facts: Facts, installation: Installation, rules: RuleBase) -> Markup:
    complaint = rules.complaints.get(facts.complaint or "")
    meter = facts.meter.text if facts.meter is not None and facts.meter.kind != "skipped" else "not proved"
    return markup(
        _HEAD, title=installation.title, kind=kind, o=origin, stands=state_words(facts.state), meter=meter,
        first_words=FIRST_WORDS, where=STANDING.get(facts.standing or "", "not told"),
        complaint=complaint.says if complaint else facts.complaint or "none",
        tools=", ".join(facts.tools or ()) or "not told",
        cautions=["A danger was read. Nothing is switched on before it is dealt with."] * (facts.state == "danger"),
    )  # fmt: skip


def _table(facts: Facts, installation: Installation, rules: RuleBase) -> Markup:
    rows = []
    for number, reading in enumerate(facts.readings, 1):
        if reading.repaired is not None:
            rows.append((number, f"Repaired: {fault_words(reading.repaired, installation, rules)}", "done"))
        elif reading.take is not None and reading.read is not None:
            kept = ", confirmed" if reading.take in facts.kept else ""
            rows.append((number, test_words(reading.take, installation), f"{reading.read.text}{kept}"))
    return markup(_READINGS, readings=rows)


def _follows(facts: Facts, ranking: Ranking | None, installation: Installation, rules: RuleBase) -> list[str]:
    needed = facts.needed(ranking.vain if ranking is not None else ())
    lines = [
        f"Repaired: {fault_words(fault, installation, rules)}"
        f"{'' if fault in needed else ', without a sign that it was needed'}"
        for fault in facts.mended
    ]
    if ranking is None:
        return lines or ["Nothing was read yet, so nothing follows."]
    lines += [f"{e.probability:.0%} {fault_words(e.fault, installation, rules)}" for e in ranking.faults[:5]
              if e.probability >= 0.01]  # fmt: skip
    lines.append(f"{ranking.no_fault:.0%} nothing is wrong{' now' if facts.mended else ''}")
    return [*lines, f"{ranking.unlisted:.0%} a fault not listed"] if ranking.unlisted >= 0.005 else lines


def _convicting(
    fault: FaultAt, chance: float, reasons: Sequence[Reason], installation: Installation, rules: RuleBase
) -> list[str]:
    told = [f"reading {r.reading} ({r.db:+.0f} dB): {r.says}" for r in reasons]
    words = fault_words(fault, installation, rules)
    return [f"{words}, {chance:.0%} at that time. " + "; ".join(told)]


def _open(facts: Facts, ranking: Ranking | None, installation: Installation, rules: RuleBase) -> list[str]:
    lines = []
    for reading in facts.readings:
        if reading.take is not None and reading.read is not None and reading.read.kind == "skipped":
            lines.append(f"Could not be taken: {test_words(reading.take, installation)}")
    if facts.unproved:
        lines.append("The reading that was to prove the repair was not as it should be.")
    elif facts.mended and facts.wanted is not None:
        lines.append("The repair has not been proved by all the readings that were to follow it.")
    if facts.state not in ("done", "ended"):
        lines.append(f"The job is not at its end: {state_words(facts.state)}.")
    if ranking is not None and ranking.unlisted >= 0.01:
        lines.append(f"{ranking.unlisted:.0%} stays with a fault that the rule base does not list.")
    if ranking is not None and not facts.mended:
        lines += [f"{fault_words(e.fault, installation, rules)}: suspected, not convicted" for e in ranking.faults[:5]
                  if e.probability >= 0.05 and not e.convicted]  # fmt: skip
    if facts.meter is None or facts.meter.kind == "skipped":
        lines.append("The meter was not proved on a known battery.")
    return lines or ["Nothing that the readings show."]

"""The hand-over record on paper: what passed takes a line or two, what did not is told in full, on two sheets of A4.

It words what the record holds and decides nothing; what is left out on paper stands on the screen.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.commissioning import Baseline, CommissioningRecord
from diagnose.present.commissioning_words import Cells, ohms_words
from diagnose.present.pages import Markup, markup

__all__ = ["BRIEF", "PAPER_STYLE", "baseline_lines", "passed_on_paper", "recheck_lines"]

#: of how many steps told in one row the names are said; more are counted
NAMED = 4
#: the verdicts told in a line or two; why a step could not be judged stands among the open points
BRIEF = ("PASS", "INVALID", "NOT DONE")
PAPER_STYLE = """\
.paper{display:none}
@page{margin:7mm}
@media print{body{font:6.3pt/1.13 sans-serif;font-stretch:condensed}h1{font-size:10pt;margin:0}h2{font-size:7.4pt;
margin:.8mm 0 .3mm;border-width:1px;break-after:avoid}p,ul,ol,.caution{margin:.2mm 0}.small{font-size:6pt}
.paper{display:block}.screen{display:none!important}
th,td{padding:.1mm .6mm;border-width:.5px!important}.told tbody{display:block;columns:3;column-gap:5mm}
.told tr{display:flex;gap:1mm;border-bottom:.5px solid #777}.told th,.told td{border:0}.told th{flex:0 0 24mm}
.steps td{line-height:1.08}.steps td:not(.verdict) p{display:inline}.step p::before{content:"· "}
.steps .number{width:9mm}.steps .limit,.steps .here{width:20mm}.steps .read{width:28mm}.steps .verdict{width:17mm}
.steps .step{width:70mm}.FAIL .verdict b{border-width:1px}
.steps .FAIL tr:first-child td,.steps .FAIL .below td{border-width:1.5px!important}
.steps tbody,.sources li,.brief li{break-inside:avoid}.sources{columns:4;column-gap:4mm}
.cautions{columns:3;column-gap:4mm;font-size:6pt}.caution{border-width:2px}.open{columns:2;column-gap:6mm}
.steps .PASS,.steps .INVALID,.steps .NOT-DONE,.steps.passed{display:none}
.brief{columns:4;column-gap:3mm;font-size:6pt;line-height:1.06;list-style:none;padding:0}
.brief li{border-bottom:.5px solid #999;padding-left:1.5mm;text-indent:-1.5mm}
figure.wiring.paper{display:flex;justify-content:center;gap:2mm;align-items:flex-start;margin:0}
figure.wiring svg{flex:1 1 0;min-width:0;width:auto;max-width:none;max-height:104mm;margin:0}
}
"""
_BRIEF = """\
<b>{{ c.number }}</b> {{ c.title }}{% if names %}: {{ names }}{% endif %} <b>{{ c.read }}</b>\
{% if c.conditions %} {{ c.conditions }}{% endif %}{% if c.time %}, {{ c.time }}{% endif %}\
{% if c.limit != "-" and not c.limit.startswith("answer") %}; limit {{ c.limit }}{% endif %}\
{% if c.here != "-" %}; here {{ c.here }}{% endif %} <b>{{ c.verdict }}</b>
"""


def passed_on_paper(rows: Sequence[Cells]) -> list[Markup]:
    """Return each row that neither failed nor deserves a look: what was read, and what it was held against."""
    return [markup(_BRIEF, c=one, names=_names(one)) for one in rows if one.verdict in BRIEF]


def _names(one: Cells) -> str:
    """Return of which things a row tells, the first few by name."""
    if one.steps == 1:
        return ""
    named = one.where.split("; ")[: one.steps]
    return "; ".join(named) if len(named) <= NAMED + 1 else f"{'; '.join(named[:NAMED])} and {len(named) - NAMED} more"


def baseline_lines(record: CommissioningRecord) -> list[tuple[str, str]]:
    """Return each resistance by the number of its step, which names the joint."""
    numbers = {(row.step.judges[0], row.step.take.where): str(number) for number, row in enumerate(record.rows, 1)
               if row.step.take is not None and row.step.judges}  # fmt: skip
    return [(numbers.get((one.part, one.between), _joint(one)), ohms_words(one)) for one in record.baseline]


def _joint(one: Baseline) -> str:
    return f"{one.part} {' to '.join(one.between)}"


def recheck_lines(record: CommissioningRecord) -> list[str]:
    """Return what to look at again, once for all steps of one rule."""
    by_rule: dict[str, list[tuple[int, str]]] = {}
    for number, row in enumerate(record.rows, 1):
        if row.step.recheck:
            by_rule.setdefault(row.step.rule, []).append((number, row.step.recheck))
    lines = []
    for found in by_rule.values():
        if len(found) == 1:
            lines.append(found[0][1])
        else:
            lines.append(f"{found[0][1]}, and the same for {_runs([number for number, _ in found[1:]])}")
    return lines


def _runs(numbers: Sequence[int]) -> str:
    """Return numbers of steps with those that follow each other as a run.

    >>> _runs([58, 59, 60, 64]), _runs([3])
    ('steps 58–60, 64', 'step 3')
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1] = [runs[-1][0], number]
        else:
            runs.append([number])
    told = ", ".join("–".join(str(n) for n in dict.fromkeys(run)) for run in runs)
    return f"step{'s' if len(numbers) > 1 else ''} {told}"

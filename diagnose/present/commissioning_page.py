"""The hand-over record as one page: for a phone, and for two sheets of A4 in print.

It shows one record and computes nothing; it asks for nothing to be loaded and has no script.
"""

from __future__ import annotations

from diagnose.drawing.placing import picture_of
from diagnose.model.commissioning import CommissioningRecord
from diagnose.model.installation import Installation
from diagnose.present.commissioning_paper import (
    BRIEF,
    PAPER_STYLE,
    baseline_lines,
    passed_on_paper,
    recheck_lines,
)
from diagnose.present.commissioning_words import (
    NOT_A_CERTIFICATE,
    Cells,
    cells_of,
    counts,
    gathered,
    joint_words,
    ohms_words,
)
from diagnose.present.pages import Markup, markup, page
from diagnose.present.picture_notes import step_notes
from diagnose.present.svg import svg_slices
from diagnose.present.terminal import FIRST_WORDS

__all__ = ["commissioning_page"]

_STYLE = """\
body{max-width:70rem}th,th:last-child,td:last-child{min-width:0}th{overflow-wrap:break-word}
.joints td:last-child{white-space:nowrap}
.told th{width:34%}.steps{table-layout:fixed;overflow-wrap:break-word}
.steps th{border-bottom:2px solid}.steps p{margin:0}
.steps .number{width:4.2rem}.steps .limit,.steps .here,.steps .read{width:12%}.steps .verdict{width:6rem}
.steps .step{width:25%}.FAIL .verdict b{border:2px solid;padding:0 .2rem}.PASS .verdict b{font-weight:400}
.steps tbody:not(.PASS) tr:first-child td{border-bottom:0}.steps .FAIL tr:first-child td{border-top:2px solid}
.steps .FAIL .below td{border-bottom:2px solid}.sources{columns:2;column-gap:1.5rem}.wiring svg{margin:0 auto}
@media screen and (max-width:54rem){.steps,.steps tbody,.steps tr,.steps td{display:block;width:auto!important}
.steps thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.steps tbody{border:1px solid #777;margin:.6rem 0;padding:.2rem .5rem}.steps tbody.FAIL{border:4px solid #111}
.steps td{border:0!important;padding:.1rem 0}.steps td.none{display:none}
.steps td[data-label]{padding-left:5.4rem;position:relative}
.steps td[data-label]::before{content:attr(data-label);position:absolute;left:0;color:#444}
.steps .number{float:left;padding-right:.5rem!important}.steps .step{overflow:hidden}.sources{columns:1}}
"""
_HEAD = """\
<h1>Hand-over record</h1>
<p class="mark">{{ r.title }}</p>
<p class="mark">{{ not_a_certificate }}</p>
<div class="cautions">{% for says in cautions %}<p class="caution"><b>Caution:</b> {{ says }}</p>
{% endfor %}</div>
<p class="mark">{{ counts }}</p>
<nav aria-label="Parts of this page"><a href="#open">Open points</a> <a href="#steps">Steps</a>
<a href="#baseline">Baseline</a> <a href="#wiring">Wiring</a> <a href="#again">Look again</a></nav>
<section><h2 id="open">Open points</h2>
<ul class="open">{% for line in r.open_points %}<li>{{ line }}</li>{% else %}<li>None.</li>{% endfor %}</ul></section>
<h2>Installation, and who made this record</h2>
<table class="told"><tbody>{% for name, value in r.installation %}<tr><th scope="row">{{ name }}</th>\
<td>{{ value }}</td></tr>
{% endfor %}<tr><th scope="row">Name, as typed</th><td>{{ r.name or "not given" }}</td></tr>
<tr><th scope="row">Date, as typed</th><td>{{ r.date or "not given" }}</td></tr>
<tr><th scope="row">Made with</th><td>program {{ r.version }}</td></tr>
<tr><th scope="row">Hash of the rule base</th><td>{{ r.rules_hash }}</td></tr>
<tr><th scope="row">Hash of the installation</th><td>{{ r.installation_hash }}</td></tr></tbody></table>
"""
# Shown as blocks on a phone, a table is no table any more to a screen reader unless the roles say so.
_STEPS = """\
<h2 id="steps">Steps, in the order they are taken</h2>
<p class="small">Expected here: 95 of 100 sound installations of this description read within it. FAIL: beyond the
published limit and the meter's error, or far outside what is expected here. LOOK: between
the two. INVALID: the reading cannot tell. NOT DONE: skipped or not reached; it stays open.</p>
<table class="steps{{ " passed" if passed }}" role="table"><thead role="rowgroup">\
<tr role="row">{% for name, label in labels %}\
<th scope="col" role="columnheader" class="{{ name }}">{{ label }}</th>{% endfor %}</tr></thead>
{% for c in cells %}<tbody role="rowgroup" class="{{ c.verdict.replace(" ", "-") }}"><tr role="row">\
<td role="cell" class="number">{{ c.number }}</td>\
<td role="cell" class="step"{% if c.steps > 1 %} colspan="3"{% endif %}><b>{{ c.title }}</b> {% if c.where %}
<p>{{ c.where }}</p>{% endif %}</td>\
{% if c.steps == 1 %}<td role="cell" class="limit{{ " none" if c.limit == "-" }}" data-label="Limit">{{ c.limit }}</td>\
<td role="cell" class="here{{ " none" if c.here == "-" }}" data-label="Expected">{{ c.here }}</td>{% endif %}\
<td role="cell" class="read" data-label="Read"><b>{{ c.read }}</b> {% if c.conditions or c.time %}
<p>{{ [c.conditions, c.time]|select|join(", ") }}</p>{% endif %}</td>\
<td role="cell" class="verdict" data-label="Verdict"><b>{{ c.verdict }}</b> {% if c.judged %}
<p>{{ c.judged }}</p>{% endif %}</td>\
{% if c.verdict == "PASS" %}<td role="cell" class="why" data-label="Why">{{ said(c) }}</td></tr>{% else %}\
<td role="cell" class="why none">below</td></tr>
<tr role="row" class="below"><td role="cell" class="none"></td><td role="cell" colspan="6" data-label="Why">\
{{ said(c) }}</td></tr>{% endif %}</tbody>
{% endfor %}</table>
<section class="paper"><h2>Steps that passed, could not be judged, or are not done</h2>
<ol class="brief">{% for line in brief %}<li>{{ line }}</li>
{% endfor %}</ol></section>
<section><h2>Sources</h2>
<ol class="sources small">{% for text in sources %}<li>{{ text }}</li>{% endfor %}</ol></section>
"""
_SAID = """\
{% for text in c.says %}{{ text }} {% endfor %}<span class="ground">{{ c.why }}</span> {% if c.makes_valid %}\
<p><b>To make it valid:</b> {{ c.makes_valid }}</p> {% endif %}{% if c.source %}(source {{ c.source }}){% endif %}
"""
_LABELS = (
    ("number", "No."), ("step", "Step, and where the probes go"), ("limit", "Limit"), ("here", "Expected here"),
    ("read", "Read"), ("verdict", "Verdict"), ("why", "Why, and source"),
)  # fmt: skip
_REST = """\
<section><h2>Instruments</h2>
<ul>{% for line in r.instruments %}<li>{{ line }}</li>{% else %}<li>None named.</li>{% endfor %}</ul></section>
<section><h2 id="baseline">Baseline: resistance of each joint on the day of hand-over, ± standard uncertainty</h2>
{% if baseline %}<p class="paper">By the number of its step: \
{% for number, ohms in by_number %}<b>{{ number }}</b> {{ ohms }}{{ "; " if not loop.last }}{% endfor %}.</p>
<table class="joints screen"><thead><tr><th scope="col">Joint or part</th>\
<th scope="col">Resistance</th></tr></thead>
<tbody>{% for joint, ohms in baseline %}<tr><td>{{ joint }}</td><td>{{ ohms }}</td></tr>
{% endfor %}</tbody></table>{% else %}<p>No joint could be measured.</p>{% endif %}</section>
<section class="whole"><h2 id="wiring">Wiring, with the readings in place</h2>
<p class="small">A thick line marks a part that failed a step. A dot joins wires; wires that cross without a dot are
not joined. The number before a reading is its number in the table of steps.<span class="paper"> On paper what passed \
is shown by its number alone, and the picture goes on at the top of the next column.</span></p>
<figure class="wiring screen">{{ picture }}</figure><figure class="wiring paper">{{ paper }}</figure></section>
<section><h2 id="again">To look at again in some weeks</h2>
<p class="paper">{% for line in again %}{{ line }}. {% else %}Nothing is listed.{% endfor %}</p>
<ul class="again screen">{% for line in r.recheck %}<li>{{ line }}</li>{% else %}<li>Nothing is listed.</li>{% endfor %}
</ul></section>
"""


def commissioning_page(record: CommissioningRecord, installation: Installation) -> str:
    """Return the page, with the readings in the picture of the wiring."""
    cells, sources = cells_of(record, installation)
    head = markup(
        _HEAD, r=record, not_a_certificate=NOT_A_CERTIFICATE, cautions=(FIRST_WORDS, *record.cautions),
        counts=counts(record),
    )  # fmt: skip
    rows = gathered(cells)
    passed = all(one.verdict in BRIEF for one in rows)
    steps = markup(
        _STEPS, labels=_LABELS, said=_said, brief=passed_on_paper(rows), cells=rows, sources=sources, passed=passed
    )
    baseline = [(joint_words(one, installation), ohms_words(one)) for one in record.baseline]
    rest = markup(
        _REST, r=record, baseline=baseline, picture=_picture(record, installation),
        paper=_picture(record, installation, paper=True), by_number=baseline_lines(record), again=recheck_lines(record),
    )  # fmt: skip
    body = markup("{{ head }}{{ steps }}{{ rest }}", head=head, steps=steps, rest=rest)
    return page(f"{record.title}: hand-over record", body, _STYLE + PAPER_STYLE)


def _said(one: Cells) -> Markup:
    """Return why a step has its verdict, how a reading is made valid, and the source."""
    return markup(_SAID, c=one)


def _picture(record: CommissioningRecord, installation: Installation, paper: bool = False) -> Markup:
    """Return the picture of the wiring: whole for a screen, in slices side by side for paper."""
    picture = picture_of(installation, step_notes(record.rows, installation, short=paper))
    return Markup(svg_slices(picture, 4 if paper else 1, "wiring-on-paper" if paper else "wiring"))

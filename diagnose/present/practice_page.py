"""The debrief as a page: one file, no scripts, no network; the score, each step beside the best, belief over time.

It shows one debrief and computes nothing but places in the chart.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.drawing.placing import picture_of
from diagnose.model.installation import Installation
from diagnose.model.practice import PracticeCase, Score
from diagnose.model.rules import RuleBase
from diagnose.practice.debrief import Debrief
from diagnose.present.pages import markup, page
from diagnose.present.practice import read_words, replayed_words, score_lines
from diagnose.present.svg import svg_text
from diagnose.present.terminal import FIRST_WORDS
from diagnose.present.walk_words import fault_words, wrapped

__all__ = ["belief_chart", "debrief_page"]

#: size of the chart [px], its margins, where its lines end, the room of a label below it, and its letters in a line
WIDE, HIGH, LEFT, TOP, END, LABEL, LETTERS = 400, 240, 44, 14, 390, 22, 46
DASHES = ("", "8 4", "2 4", "10 3 2 3", "1 3", "14 3 2 3 2 3")

_STYLE = """\
.step{border:1px solid #777;border-radius:.3rem;padding:.6rem .8rem;margin:.7rem 0}.parted{border:3px solid #111}
.chart svg{max-width:none}@media print{.step{break-inside:avoid}}
"""

_BODY = """\
<h1>{{ title }}</h1>
<p>{{ story }}</p><p>Complaint: {{ complaint }}</p>
<p class="mark">{{ verdict }}</p>
{% if gates %}<ul>{% for gate in gates %}<li>Not passed because of: {{ gate }}</li>{% endfor %}</ul>{% endif %}
<h2>Score</h2><table>{% for name, value in rows %}<tr><th scope="row">{{ name }}</th><td>{{ value }}</td></tr>
{% endfor %}</table>
<h2>What it was</h2><p>{{ truth }}.</p>
<p>{% if parted %}<a href="#act{{ parted }}">You and the best way parted first at act {{ parted }}.</a>{% else %}No
test of yours told much less a minute than the best one then.{% endif %}</p>
<h2>Belief over time</h2><figure class="chart">{{ chart }}</figure>
<h2>Each act beside the best one</h2>
{% for step in steps %}<section class="step{% if step.parted %} parted{% endif %}" id="act{{ step.number }}">
<p class="mark">{{ step.number }}. {{ step.typed }}{% if step.read %}: {{ step.read }}{% endif %}
{% if step.number == parted %} (here the ways part){% elif step.parted %} (told much less than the best){% endif %}</p>
{% for note in step.notes %}<p>{{ note }}</p>{% endfor %}
{% for line in step.told if line %}<p class="small">{{ line[:1].upper() }}{{ line[1:] }}.</p>{% endfor %}
{% if step.moved %}<ul class="small">{% for line in step.moved %}<li>{{ line }}</li>{% endfor %}</ul>{% endif %}
</section>{% endfor %}
<h2>One habit to work on</h2><p>{{ habit }}</p>
<h2>Wiring</h2><p>{{ vehicle }}</p><figure>{{ picture }}</figure>
<p class="small">{{ first_words }}</p>
"""


def debrief_page(
    case: PracticeCase, score: Score, debrief: Debrief, installation: Installation, rules: RuleBase
) -> str:
    """Return the page of a debrief."""
    lines = score_lines(score, 200)
    rows = [(line[2:26].strip(), line[26:].strip()) for line in lines if line[:2] == "  " and "because of" not in line]
    body = markup(
        _BODY, title=case.title, story=" ".join(case.story.split()),
        complaint=(case.complaint or "none").replace("_", " "),
        verdict=lines[0], gates=score.gates, rows=rows, parted=debrief.parted, habit=debrief.habit,
        truth=" and ".join(fault_words(f, installation, rules) for f in debrief.truth) or "Nothing was wrong",
        chart=markup(_CHART, **belief_chart(debrief, installation, rules)),
        steps=_steps(debrief, installation, rules), vehicle=installation.title,
        picture=markup("{{ svg|safe }}", svg=svg_text(picture_of(installation))), first_words=FIRST_WORDS,
    )  # fmt: skip
    return page(f"Debrief: {case.title}", body, _STYLE)


def _steps(debrief: Debrief, installation: Installation, rules: RuleBase) -> list[dict[str, object]]:
    found = []
    for one in debrief.steps:
        step, (own, best, moved) = one.step, replayed_words(one, installation, rules)
        found.append({
            "number": step.number, "typed": step.act.text, "read": read_words(step), "parted": one.parted,
            "notes": [n[:1].upper() + n[1:] for n in (*step.lessons, *one.notes)], "told": [own, best], "moved": moved,
        })  # fmt: skip
    return found


_CHART = """\
<svg viewBox="0 0 {{ wide }} {{ whole }}" role="img" aria-label="Belief in each suspect after each act">
<g stroke="#999" fill="none">{% for y, _ in levels %}<path d="M{{ left }} {{ y }}H{{ end }}"/>{% endfor %}</g>
<g font-size="11" fill="#111">{% for y, text in levels %}<text x="4" y="{{ y + 4 }}">{{ text }}</text>{% endfor %}
{% for x, text in marks %}<text x="{{ x }}" y="{{ high - 4 }}" text-anchor="middle">{{ text }}</text>{% endfor %}</g>
{% for line in lines %}<path d="{{ line.path }}" fill="none" stroke="#111" stroke-width="{{ line.thick }}"
 stroke-dasharray="{{ line.dash }}"/><path d="M{{ left }} {{ line.y }}h28" stroke="#111"
 stroke-width="{{ line.thick }}" stroke-dasharray="{{ line.dash }}"/>
{% for text in line.name %}<text x="{{ left + 36 }}" y="{{ line.y + 4 + 14 * loop.index0 }}" font-size="12"
 fill="#111">{{ text }}</text>{% endfor %}{% endfor %}
</svg>"""


def belief_chart(debrief: Debrief, installation: Installation, rules: RuleBase) -> dict[str, object]:
    """Return the numbers of the chart: a line a suspect, the truth thick, told apart by dashes and by labels."""
    count = max((len(row) for _, row in debrief.belief), default=1)
    wide, high = END - LEFT, HIGH - TOP - 26
    xs = [LEFT + wide * k / max(count - 1, 1) for k in range(count)]
    lines, below = [], HIGH + 14
    for number, (fault, row) in enumerate(debrief.belief):
        points = [f"{x:.1f} {TOP + high * (1.0 - p):.1f}" for x, p in zip(xs, row, strict=False)]
        name = wrapped(fault_words(fault, installation, rules) if fault is not None else "a sound vehicle", LETTERS)
        true = fault in debrief.truth if fault is not None else not debrief.truth
        lines.append({
            "path": "M" + "L".join(points), "dash": DASHES[number % len(DASHES)] if fault else "",
            "thick": 3 if true else 1.5, "name": name, "y": below,
        })  # fmt: skip
        below += LABEL + 14 * (len(name) - 1)
    levels = [(round(TOP + high * (1.0 - p), 1), f"{p:.0%}") for p in (0.0, 0.5, 1.0)]
    marks: Sequence[tuple[float, str]] = [(round(x, 1), str(k) if k else "start") for k, x in enumerate(xs)]
    return {
        "wide": WIDE, "high": HIGH, "left": LEFT, "end": END, "levels": levels, "marks": marks, "lines": lines,
        "whole": below - 6,
    }  # fmt: skip

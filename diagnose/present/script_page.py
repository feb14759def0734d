"""A phone script as one page: one card at a time, by links alone where scripts are off; prints as numbered steps.

It shows one script and computes nothing. The page loads nothing and sends nothing.
"""

from __future__ import annotations

from typing import Any

from diagnose.model.script import Answer, End, Question, Script
from diagnose.present.pages import markup, page
from diagnose.present.script_behaviour import BEHAVIOUR

__all__ = ["script_page"]

_STYLE = """\
*{box-sizing:border-box}
body{font:1.15rem/1.45 system-ui,sans-serif;max-width:40rem;margin:0 auto;padding:.6rem;color:#111;background:#fff}
h1{font-size:1.05rem;margin:.2rem 0}h2{font-size:1.35rem;line-height:1.3;margin:.7rem 0}
h2:focus{outline:0}h2:focus-visible{outline:3px solid #111;outline-offset:3px}
section{display:none}section:target,#start{display:block}section:target~#start{display:none}
.how{margin:.4rem 0}.caution{border-left:5px solid #111;padding-left:.6rem;margin:.3rem 0;font-size:1rem}
ul{padding-left:1.2rem;margin:.3rem 0}.answers{list-style:none;padding:0}
.answers a,button,.bar a{display:block;width:100%;min-height:48px;padding:.65rem .8rem;margin:.35rem 0;font:inherit;
border:2px solid #111;border-radius:.4rem;color:#111;background:#fff;text-align:left;
text-decoration:none;cursor:pointer}
.answers a:focus-visible,button:focus-visible{background:#111;color:#fff}
@media(hover:hover){.answers a:hover,button:hover{background:#111;color:#fff}}
.bar{display:flex;gap:.4rem;flex-wrap:wrap}.bar button{width:auto;flex:1 1 7rem}
.verdict{font-weight:700;border:3px solid #111;padding:.5rem .7rem}
input,textarea{font:inherit;width:100%;min-height:48px;padding:.5rem;border:2px solid #111;border-radius:.4rem}
.row{display:flex;gap:.4rem}.row button{width:auto}.more{font-size:1rem}[hidden]{display:none!important}
.scripted{display:none}.js .scripted{display:block}.js .row{display:flex}.js [data-unit] .band{display:none}
@media print{main{display:flex;flex-direction:column}h1{order:-2}#start{order:-1}
section,section:target~#start{display:block!important;break-inside:avoid;border-top:1px solid #111}
.scripted,.js .scripted,.bar,.more{display:none!important}.js [data-unit] .band{display:list-item}
.answers a{border:0;min-height:0;padding:0;margin:0;width:auto}.answers a::after{content:": go to " attr(href)}
.number::before{content:"#"}
body{font-size:.9rem;max-width:none}h2{font-size:1rem}}
"""

_BODY = """\
<h1>{{ s.heading }}</h1>
{% for name, q in questions %}<section id="{{ name }}" data-more="{{ q.more|round|int }}"\
{% if q.unit %} data-unit="{{ q.unit }}"{% endif %}>
{% if q.cautions %}<p class="caution"><b>Caution:</b> {{ q.cautions|join("; ") }}</p>{% endif %}
<p class="how">{{ q.how }}</p><h2><span class="number">{{ name }}.</span> {{ q.say }}</h2>
<ul class="answers">{% for a in q.answers %}<li{% if a.band %} class="band"{% endif %}><a href="#{{ a.go }}"\
{% if a.low %} data-low="{{ a.low }}"{% endif %}\
{% if a.high %} data-high="{{ a.high }}"{% endif %}>{{ a.label }}</a></li>\
{% endfor %}</ul></section>
{% endfor %}{% for name, e in ends %}<section id="{{ name }}" class="end">
{% if e.cautions %}<p class="caution"><b>Caution:</b> {{ e.cautions|join("; ") }}</p>{% endif %}
<h2><span class="number">{{ name }}.</span> {{ e.verdict }}</h2>
<p class="verdict">{{ e.say }}</p>
<h3>Not safe</h3><ul>{% for t in e.not_safe %}<li>{{ t }}</li>{% endfor %}</ul>
<h3>Meanwhile</h3><ul>{% for t in e.meanwhile %}<li>{{ t }}</li>{% endfor %}</ul>
<h3>To the owner</h3><p class="tell">{% for t in e.tell %}{{ t }}<br>{% endfor %}</p>
{% if e.send %}<h3>{{ "Van list" if s.owner else "What it takes" }}</h3><ul>\
{% for t in e.bring %}<li>{{ t }}</li>{% endfor %}
<li>Tools: {{ e.tools|join(", ") }}</li><li>Minutes expected: {{ "%g"|format(e.minutes) }}</li></ul>
{% endif %}{% if e.photos %}<h3>Photos worth asking for</h3><ul>\
{% for t in e.photos %}<li>{{ t }}</li>{% endfor %}</ul>{% endif %}\
{% if s.owner %}<h3>Cost</h3><p>{{ e.costs.says }}</p>{% endif %}</section>
{% endfor %}<section id="start" data-more="{{ first_more|round|int }}"><h2>Before the first question</h2>
{% if s.understood %}<p class="how">{{ s.understood }}</p>{% endif %}
{% for c in s.cautions[:s.opening] %}<p class="caution"><b>Caution:</b> {{ c }}</p>{% endfor %}
<p class="how">{{ s.first }}</p>
<ul class="answers"><li><a href="#{{ s.root }}">Begin</a></li></ul>
<h3>What the cards remind of, in full</h3>
{% for c in s.cautions[s.opening:] %}<p class="caution"><b>Caution:</b> {{ c }}</p>{% endfor %}</section>
<div class="scripted" id="entry" hidden><label for="number">What is shown, mark by mark (<span></span>)</label>
<div class="row"><button type="button" class="sign" aria-label="change the sign">+/-</button>
<input id="number" type="text" inputmode="decimal" autocomplete="off">
<button type="button" class="say">Enter</button></div><p class="back" role="status"></p></div>
<p class="more scripted" role="status" aria-live="polite" id="more"></p>
<div class="bar scripted"><div class="bar"><button type="button" id="back">Back</button>\
<button type="button" id="restart">Restart</button></div></div>
<div class="scripted"><label for="notes">Notes</label><textarea id="notes" rows="3"></textarea>
<label for="summary">Summary for the call log</label><textarea id="summary" rows="6" readonly></textarea>
<button type="button" id="copy">Copy the summary</button></div>
"""


def script_page(script: Script) -> str:
    """Return the page as HTML."""
    questions = [(k, _question(v)) for k, v in script.steps.items() if isinstance(v, Question)]
    ends = [(k, v) for k, v in script.steps.items() if isinstance(v, End)]
    root = script.steps[script.root]
    more = root.more if isinstance(root, Question) else 0
    body = markup(_BODY, s=script, questions=questions, ends=ends, first_more=more)
    return page(script.heading, body, _STYLE, BEHAVIOUR, plain=True)


def _question(question: Question) -> dict[str, Any]:
    unit = next((a.unit for a in question.answers if a.unit), None)
    return {
        "say": question.say, "how": question.how, "cautions": question.cautions, "more": question.more, "unit": unit,
        "answers": [_answer(a) for a in question.answers],
    }  # fmt: skip


def _answer(answer: Answer) -> dict[str, Any]:
    band = answer.read is None
    low, high = ("" if v is None else f"{v:g}" for v in (answer.low, answer.high))
    return {"label": answer.label, "go": answer.go, "band": band, "low": low, "high": high}

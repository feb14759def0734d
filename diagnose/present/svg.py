"""A wiring picture as SVG: black on white, weight of line and words instead of colour; no script, nothing loaded."""

from __future__ import annotations

from itertools import pairwise

from jinja2 import Environment

from diagnose.model.picture import Picture
from diagnose.present.pages import Markup

__all__ = ["svg_slices", "svg_text"]

_INNER = """\
<g{% if name %} id="{{ name }}"{% endif %}><rect width="{{ p.width }}" height="{{ p.height }}" fill="#fff"/>
<g stroke="#111" stroke-width="1.2" stroke-linecap="square">
{% for w in p.wires %}<line class="wire" data-point="{{ w.point }}" x1="{{ w.x1 }}" y1="{{ w.y1 }}" x2="{{ w.x2 }}" \
y2="{{ w.y2 }}"/>
{% endfor %}</g><g fill="#fff" stroke="#111">
{% for b in p.boxes %}<rect class="part" data-part="{{ b.part }}" x="{{ b.x }}" y="{{ b.y }}" width="{{ b.width }}" \
height="{{ b.height }}" stroke-width="{{ 3 if b.heavy else 1 }}"/>
{% endfor %}</g><g fill="#111">
{% for d in p.dots %}<circle cx="{{ d.x }}" cy="{{ d.y }}" r="{{ 3.2 if d.point else 2 }}"\
{% if d.point %} class="point" data-point="{{ d.point }}"{% endif %}/>
{% endfor %}{% for l in p.labels %}<text x="{{ l.x }}" y="{{ l.y }}"{% if l.weight != "plain" %} font-weight="700"\
{% endif %}>{{ l.text }}</text>
{% endfor %}</g></g>"""
_SVG = """\
{% for top, high in slices %}<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 {{ top }} {{ p.width }} {{ high }}" \
role="img" aria-label="Wiring picture of {{ p.title }}" font-family="sans-serif" font-size="11">
{% if loop.first %}<title>Wiring picture: {{ p.title }}</title>
{{ inner }}{% else %}<use href="#{{ name }}"/>{% endif %}</svg>
{% endfor %}"""


def svg_text(picture: Picture) -> str:
    """Return the picture as one SVG element, every text of it escaped."""
    return _shown(picture, [0.0, picture.height], "")


def svg_slices(picture: Picture, count: int = 2, name: str = "wiring") -> str:
    """Return the picture as SVG elements that stacked are the whole picture, and side by side fill a sheet.

    Parameters: `count`, how many; each ends behind a box, none is empty; `name`, which the ids begin with.
    """
    edges = [b.y + b.height + 2.0 for b in picture.boxes] or [picture.height]
    wanted = [picture.height * n / count for n in range(1, count)]
    cuts = sorted({min(edges, key=lambda y: abs(y - at)) for at in wanted} - {picture.height})
    return _shown(picture, [0.0, *cuts, picture.height], f"{name}-in-{count}")


def _shown(picture: Picture, cuts: list[float], name: str) -> str:
    """Return the picture cut at heights; `name` is its id, by which the later slices show it again."""
    environment = Environment(autoescape=True, trim_blocks=True)
    inner = Markup(environment.from_string(_INNER).render(p=picture, name=name))
    slices = [(top, end - top) for top, end in pairwise(cuts)]
    return environment.from_string(_SVG).render(p=picture, inner=inner, slices=slices, name=name)

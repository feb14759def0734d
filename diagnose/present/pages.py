"""The shell of every self-contained page: style, security policy by hash, print and small screens.

It loads nothing and sends nothing; what stands in a page is the caller's, who hands over text or markup made with
escaping on.
"""

from __future__ import annotations

import base64
import hashlib
from functools import cache

from jinja2 import Environment, Template

__all__ = ["Markup", "markup", "page"]


class Markup(str):
    """Text that is markup already and is not escaped again: what a template has made, or our own constants."""

    __slots__ = ()

    def __html__(self) -> str:
        return str(self)


_STYLE = """\
*{box-sizing:border-box}
body{font:1rem/1.45 system-ui,sans-serif;max-width:46rem;margin:0 auto;padding:.7rem;color:#111;background:#fff;
overflow-wrap:anywhere}
h1{font-size:1.4rem;line-height:1.25;margin:.3rem 0}h2{font-size:1.1rem;margin:1.2rem 0 .3rem;border-bottom:2px solid}
table{border-collapse:collapse;width:100%}th,td{text-align:left;vertical-align:top;padding:.25rem .4rem;
border-bottom:1px solid #777}
th,td:last-child{min-width:5.6rem}th.n{min-width:3rem}
ul,ol{padding-left:1.3rem;margin:.3rem 0}.mark{font-weight:700}.small{font-size:.9rem}
.caution{border-left:5px solid #111;padding-left:.6rem;margin:.3rem 0}
a{color:#111;display:inline-block;min-height:48px;line-height:48px;padding-right:1rem}
a:focus-visible{outline:3px solid #111}figure{margin:0}svg{display:block;width:100%;max-width:34rem;height:auto}
@page{size:A4;margin:12mm}
@media print{body{font-size:9pt;max-width:none;padding:0}h1{font-size:13pt}h2{font-size:10.5pt;margin:.6rem 0 .2rem}
nav{display:none}tr,li,p,svg{break-inside:avoid}figure.halves{display:flex;align-items:flex-start}
figure.halves svg{width:50%;max-height:268mm}}
"""

_SHELL = """\
<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; base-uri 'none'; form-action 'none'; \
style-src {{ style_hash }}{% if script %}; script-src {{ script_hash }}{% endif %}">
<title>{{ title }}</title><style>{{ style }}</style></head><body><main>
{{ body }}
</main>{% if script %}<script>{{ script }}</script>{% endif %}</body></html>
"""


def markup(template: str, **values: object) -> Markup:
    """Return a template filled in, every value escaped that is not markup itself.

    >>> str(markup("<b>{{ name }}</b>", name="<i>"))
    '<b>&lt;i&gt;</b>'
    """
    return Markup(_compiled(template).render(**values))


@cache
def _compiled(template: str) -> Template:
    """Return a template compiled; all are constants of ours, and one may be filled in a hundred times a page."""
    return Environment(autoescape=True, trim_blocks=True).from_string(template)


def page(title: str, body: Markup, style: str = "", script: str = "", plain: bool = False) -> str:
    """Return a whole page.

    Parameters: `title`, text; `body`, markup; `style` and `script`, our own constants, never anything that was typed;
    `plain`, without the style that other pages share.
    """
    whole = style if plain else _STYLE + style
    return str(markup(
        _SHELL, title=title, body=body, style=Markup(whole), script=Markup(script),
        style_hash=Markup(_hash(whole)), script_hash=Markup(_hash(script)),
    ))  # fmt: skip


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"

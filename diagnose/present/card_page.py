"""The hand-over card of an owner: what is normal for this installation in each state, what to look for, when to stop.

One phone screen or a glove-box print. It shows predicted readings and computes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.expected import Expected
from diagnose.model.installation import Installation, name_of
from diagnose.model.reading import Take
from diagnose.present.pages import markup, page
from diagnose.present.terminal import FIRST_WORDS

__all__ = ["card_page", "card_takes"]

#: states an owner meets, in plain words, with the kind of part that makes each possible
_STATES = {
    "at_rest": ("All off, an hour later", "battery"), "engine_running": ("Engine running", "alternator"),
    "sun_only": ("Engine off, full sun", "panel"), "mains_on": ("On mains", "supply"),
}  # fmt: skip

_CARD = """\
<h1>{{ title }}: what is normal</h1>
<p class="caution"><b>Stop and call someone</b> at smoke, a burnt or rotten smell, hissing, a swollen battery, or a
plug, fuse or cable too hot to hold. Keep people away; open nothing, pull no lead.</p>
<p class="small">{{ first_words }}</p>
<table><tr><th scope="col">When</th><th scope="col">Where</th><th scope="col">Normal here</th></tr>
{% for when, where, normal in rows %}<tr><td>{{ when }}</td><td>{{ where }}</td><td>{{ normal }}</td></tr>
{% endfor %}</table>
<p>Look now and then: is a fuse, plug or lead loose, wet, dark or warm? Does something charge or run worse than it did?
A value outside the range, seen twice, is worth a call. Never put in a larger fuse; a second blown fuse is a call.</p>
<p class="small">Worked out for this installation: 95 of 100 sound ones read within the range. A record, not a
certificate.</p>
"""


def card_takes(installation: Installation) -> tuple[Take, ...]:
    """Return the readings that the card is about: each battery in each state that the installation knows."""
    kinds = {part.kind for part in installation.parts.values()}
    states = [state for state, (_, kind) in _STATES.items() if kind in kinds]
    batteries = [part for part in installation.parts.values() if part.kind == "battery"]
    return tuple(Take("volts", (b.pos, b.neg), state) for state in states for b in batteries)


def card_page(expected: Sequence[Expected], installation: Installation) -> str:
    """Return the card; `expected` are the bands of `card_takes`."""
    batteries = {p.pos: name for name, p in installation.parts.items() if p.kind == "battery"}
    rows = []
    for one in expected:
        if one.low is not None and one.high is not None:
            where = f"volts at the {name_of(batteries[one.take.where[0]], installation)}"
            rows.append((_STATES[one.take.when][0], where, f"{one.low:.1f} to {one.high:.1f} {one.unit}"))
    body = markup(_CARD, title=installation.title, first_words=FIRST_WORDS, rows=rows)
    return page(f"{installation.title}: what is normal", body)

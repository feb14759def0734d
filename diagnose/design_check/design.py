"""What every rule of the design check is given: the description, the figures, the solved conditions, the assumptions.

It answers questions that several rules ask and writes their lines; it judges nothing itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.basics.quantities import Span
from diagnose.circuit.topology import start_batteries, zone_of
from diagnose.design_check.conditions import Conditions
from diagnose.design_check.walks import Net, reach
from diagnose.model.checks import Assumptions, CheckLine, CheckRule, FigureReference, Verdict
from diagnose.model.figures import NO_SOURCE, Figure, Tables
from diagnose.model.installation import Installation

__all__ = ["Design"]


@dataclass(frozen=True)
class Design:
    """One installation with all that is known of it; `net` are its conductors, relays taken as closed."""

    installation: Installation
    tables: Tables
    rules: Mapping[str, CheckRule]
    assumed: Assumptions
    net: Net
    conditions: Conditions

    def parts(self, *kinds: str) -> dict[str, Any]:
        """Return the parts of some kinds by name."""
        return {name: part for name, part in self.installation.parts.items() if part.kind in kinds}

    def figure(self, rule: str, name: str) -> Figure:
        """Return a limit of a rule with its source."""
        limit = self.rules[rule].limits[name]
        return self.tables.figure(limit.table, limit.figure) if isinstance(limit, FigureReference) else limit

    def limit(self, rule: str, name: str) -> float:
        """Return the number of a limit of a rule, in its own unit."""
        value = self.figure(rule, name).value
        assert not isinstance(value, tuple)
        return value

    def line(
        self, rule: str, verdict: Verdict, subject: str, value: float | None, limit: float | None, unit: str, says: str,
        parts: tuple[str, ...] = (), cites: str | None = None,
    ) -> CheckLine:  # fmt: skip
        """Return a line with the rule's reason, and the source of the limit that it `cites` (the first if not said)."""
        figure = self.figure(rule, cites or next(iter(self.rules[rule].limits)))
        return CheckLine(
            rule, verdict, subject, value, limit, unit, says, self.rules[rule].why, self._source(figure),
            parts or (subject,),
        )  # fmt: skip

    def _source(self, figure: Figure) -> str:
        if figure.source == NO_SOURCE:
            return NO_SOURCE
        known = self.tables.sources.get(figure.source)
        words = {"memory": "from memory", "read_reprint": "read in a reprint", "contract": "this project's own"}
        sure = words.get(figure.confidence, figure.confidence.replace("_", " "))
        return f"{known.title if known else figure.source} ({sure})"

    def warmth(self, zone: str | None) -> Span:
        """Return the temperature [degC] of a zone."""
        known = self.installation.zones.get(zone) if zone else None
        return known.ambient if known is not None and known.ambient is not None else self.installation.ambient

    def zone(self, name: str) -> str | None:
        """Return the zone of a part."""
        return zone_of(self.installation, name)

    def zone_name(self, zone: str | None) -> str:
        """Return what people call a zone."""
        known = self.installation.zones.get(zone) if zone else None
        return (known.name if known is not None else None) or (zone or "vehicle").replace("_", " ")

    def starters(self) -> frozenset[str]:
        """Return the batteries that crank the engine."""
        return start_batteries(self.installation)

    def charged_by(self, point: str) -> tuple[str, ...]:
        """Return the batteries whose positive post conductors join to a point."""
        reached = reach(self.net, point)
        return tuple(name for name, part in self.parts("battery").items() if part.pos in reached)

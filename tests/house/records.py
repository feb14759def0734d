"""Which record stands behind which table of DEVELOPERS.md."""

from __future__ import annotations

from typing import NamedTuple

from pydantic import BaseModel

from diagnose.model import (
    causes,
    checks,
    commissioning_rules,
    figures,
    installation,
    parts,
    practice,
    rules,
    unknowns,
    worked_case,
)

__all__ = ["RECORDS", "Documented"]

COMMON = frozenset({"name", "kind"})


class Documented(NamedTuple):
    """A record, the kind of part (or None), the keys that stand in another table, and the heading above its table."""

    model: type[BaseModel]
    kind: str | None
    elsewhere: frozenset[str]
    heading: str


def _part(model: type[BaseModel], kind: str, heading: str | None = None) -> Documented:
    return Documented(model, kind, COMMON, heading or f"`{kind}`")


def _rule(model: type[BaseModel], heading: str) -> Documented:
    return Documented(model, None, frozenset(), heading)


RECORDS: dict[str, Documented] = {
    "installation": _rule(installation.Installation, "An installation file"),
    "known": _rule(installation.Known, "A measured resistance"),
    "zone": _rule(installation.Zone, "A zone"),
    "point": _rule(installation.Point, "A point"),
    "part": Documented(
        parts.Cable, "part", frozenset(parts.Cable.model_fields) - COMMON, "Keys that every part has"
    ),
    "battery": _part(parts.Battery, "battery"),
    "alternator": _part(parts.Alternator, "alternator"),
    "charger": _part(parts.Charger, "charger"),
    "profile": Documented(parts.Profile, "profile", frozenset(), "A profile of a charger"),
    "cable": _part(parts.Cable, "cable"),
    "fuse": _part(parts.Fuse, "fuse"),
    "joint": _part(parts.Joint, "switch", "`switch`, `contact` (one pole of a plug and socket), `bond`"),
    "relay": _part(parts.Relay, "relay"),
    "diode": _part(parts.Diode, "diode"),
    "shunt": _part(parts.Shunt, "shunt"),
    "load": _part(parts.Load, "load"),
    "starter": _part(parts.Starter, "starter"),
    "supply": _part(parts.Supply, "supply"),
    "panel": _part(parts.Panel, "panel"),
    "fault": _rule(rules.FaultRule, "A fault"),
    "place": _rule(rules.Place, "`sits_at` of a fault"),
    "size": _rule(rules.SizeRange, "`size` of a fault"),
    "frequency": _rule(rules.Frequency, "`frequency` of a fault"),
    "sight": _rule(rules.Sight, "`sights` of a fault"),
    "owner": _rule(rules.Owner, "`owner` of a fault"),
    "repair": _rule(rules.Repair, "`repair` of a fault"),
    "example": _rule(rules.Example, "`examples` of a fault"),
    "cause": _rule(causes.CauseRule, "A cause"),
    "brought": _rule(causes.Brought, "`brings` of a cause"),
    "causeword": _rule(causes.CauseWord, "`words` of a cause"),
    "causecomplaint": _rule(causes.CauseComplaint, "`complaints` of a cause"),
    "state": _rule(causes.OperatingState, "An operating state"),
    "statelimit": _rule(causes.StateLimit, "`limit` of an operating state"),
    "workedcase": _rule(worked_case.WorkedCase, "A worked case"),
    "practicecase": _rule(practice.PracticeCase, "A practice case"),
    "casefault": _rule(practice.CaseFault, "`faults` of a practice case"),
    "skill": _rule(practice.Skill, "A skill of practice"),
    "points": _rule(practice.Weight, "Points of a line of the score"),
    "foundfault": _rule(worked_case.FoundFault, "`expected` of a worked case"),
    "test": _rule(rules.TestRule, "A test"),
    "mistake": _rule(rules.Mistake, "`mistakes` of a test"),
    "complaint": _rule(rules.ComplaintRule, "A complaint"),
    "favour": _rule(rules.Favour, "`favours` of a complaint"),
    "symptom": _rule(rules.Symptom, "`shows` of a complaint"),
    "caution": _rule(rules.Caution, "A caution"),
    "unknown": _rule(unknowns.Unknown, "An unknown"),
    "unknownanswer": _rule(unknowns.UnknownAnswer, "`answers` of an unknown"),
    "change": _rule(unknowns.Change, "`changes` of an answer"),
    "check": _rule(checks.CheckRule, "A check of the design"),
    "limit": _rule(checks.FigureReference, "`limits` of a check, where they stand in a table"),
    "checkexample": _rule(checks.CheckExample, "`examples` of a check"),
    "step": _rule(commissioning_rules.StepRule, "A step of commissioning"),
    "steptake": _rule(commissioning_rules.TakeTemplate, "`take` of a step"),
    "steplimits": _rule(commissioning_rules.StepLimits, "`limits` of a step"),
    "figure": _rule(figures.Figure, "A figure"),
    "source": _rule(figures.Source, "A source"),
}

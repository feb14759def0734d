"""Every caution of the rule base is reached, and stands before the instruction it belongs to wherever it applies."""

from __future__ import annotations

import pytest

from diagnose.inference.candidates import ALL_TOOLS, candidates
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery
from diagnose.model.reading import Take
from diagnose.model.terminals import points_of
from diagnose.prediction.hypotheses import all_hypotheses
from diagnose.present.walk import question_lines
from diagnose.present.walk_finding import found_lines
from diagnose.session import cautions
from diagnose.session.asking import found
from diagnose.session.facts import Facts
from diagnose.session.steps import Ask, Finding
from diagnose.store.installations import layout_ids, load_layout
from tests.session.drivers import adviser, rule_base

RULES, _ = rule_base()
LAYOUTS = [load_layout(name) for name in layout_ids()]


def fitted(take: Take) -> list[Take]:
    """Return a test as it is, with a jumper, and with a part swapped."""
    return [take, take._replace(jumper=("chassis", "tray")), take._replace(swap="house_fuse")]


def _kind(take: Take, installation: Installation) -> str:
    part = installation.parts.get(take.where[0])
    return part.kind if part is not None else ""


def test_every_caution_is_reached_by_a_test_a_repair_a_place_or_a_complaint() -> None:
    reached: set[str] = set()
    for installation in LAYOUTS:
        kinds = {(t.quantity, t.when, _kind(t, installation)): t for t in candidates(installation, ALL_TOOLS)}
        takes = [t for take in kinds.values() for t in fitted(take)]
        states = ("key_on", "engine_idle", "engine_and_sun", "cranking")
        takes += [Take("volts", takes[0].where, when) for when in states]
        for take in dict.fromkeys(takes):
            reached |= set(cautions.for_take(take, installation, RULES))
        faults = [h.fault for h in all_hypotheses(installation, RULES) if h.fault is not None]
        for fault in {(f.fault, installation.parts[f.part].kind): f for f in faults}.values():
            reached |= set(cautions.for_repair(fault, installation, RULES))
    for standing in ("roadside", "boat", "off_road"):
        reached |= set(cautions.for_standing(standing, RULES))
    for complaint in RULES.complaints:
        reached |= set(cautions.for_complaint(complaint, RULES))
    assert set(RULES.cautions) - reached == set()


@pytest.mark.parametrize("installation", LAYOUTS, ids=layout_ids())
def test_every_bound_caution_precedes_its_instruction(installation: object) -> None:
    for take in candidates(installation, ALL_TOOLS)[::17]:  # type: ignore[arg-type]
        bound = _bound(take, installation)
        ids = cautions.for_take(take, installation, RULES)  # type: ignore[arg-type]
        assert bound <= set(ids), take
        for given in (frozenset(), frozenset(ids)):
            shown = cautions.reminders(ids, RULES, given)
            lines = question_lines(Ask("test", 1, take, shown), installation, RULES, 9000)  # type: ignore[arg-type]
            instruction = next(n for n, line in enumerate(lines) if line.startswith("State: "))
            before = "\n".join(lines[:instruction])
            for name in ids:
                caution = RULES.cautions[name]
                assert (caution.says if not given else caution.brief) in before, (take, name)


def test_a_test_lamp_has_the_cautions_of_a_meter_but_for_its_sockets() -> None:
    meter = Take("volts", ("charger_in", "charger_neg"), "engine_running")
    own = [set(cautions.for_take(take, LAYOUTS[0], RULES)) for take in (meter, meter._replace(meter="test_lamp"))]
    assert own[0] - own[1] == {"volts_sockets"}
    assert own[1] < own[0]


def _bound(take: Take, installation: object) -> set[str]:
    """Return what is bound to a test, worked out apart from the program."""
    names = {place.split("@")[0] for place in take.where}
    parts = [p for n, p in installation.parts.items() if n in names or names & set(points_of(p))]  # type: ignore[attr-defined]
    kinds, chemistries = {p.kind for p in parts}, {p.chemistry for p in parts if isinstance(p, Battery)}
    return {
        c.id for c in RULES.cautions.values() if c.where is None and (
            take.when in c.states or take.quantity in c.quantities
            or kinds & {*c.kinds} or chemistries & {*c.chemistries}
        )
    }  # fmt: skip


@pytest.mark.parametrize("fault", [FaultAt("blown", "input_fuse"), FaultAt("high_resistance", "tray_strap")])
def test_cautions_of_a_repair_precede_it(fault: FaultAt) -> None:
    advice = adviser("crew_cab_tray")
    facts = Facts(tools=("eyes",))
    entry = next(e for e in advice.ranking(facts).faults if e.fault[:2] == fault[:2])
    finding: Finding = found(entry, facts, advice)
    ids = cautions.for_repair(fault, advice.installation, RULES)
    lines = found_lines(finding, cautions.reminders(ids, RULES), advice.installation, RULES, 9000)
    repair = next(n for n, line in enumerate(lines) if line.startswith("Repair, about"))
    assert {"cool_first", "isolate_first", "rules_first"} <= set(ids)
    assert all(any(RULES.cautions[name].says in line for line in lines[:repair]) for name in ids)


def test_places_are_for_those_who_stand_there() -> None:
    assert cautions.for_standing("roadside", RULES) == ("roadside",)
    assert cautions.for_standing("boat", RULES) == ("boat_vapour",)
    assert cautions.for_standing("off_road", RULES) == ()


def test_what_is_bound_to_a_state_is_said_in_full_when_the_state_is_entered_anew() -> None:
    shown = cautions.reminders(["open_air", "volts_sockets"], RULES, {"open_air", "volts_sockets"}, True)
    assert [(r.id, r.new) for r in shown] == [("open_air", True), ("volts_sockets", False)]

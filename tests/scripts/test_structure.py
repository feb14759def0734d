"""Every script, whatever it was ordered for: no dead end, no gap, no overlap, no step twice, every path ends well."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise

import pytest

from diagnose.model.reading import Take
from diagnose.model.script import End, Question, Script
from diagnose.model.words import words_for
from diagnose.scripts.compiling import compile_script
from diagnose.store.installations import layout_ids
from diagnose.store.rules import load_rules
from diagnose.store.script_words import load_script_words
from diagnose.store.unknowns import load_unknowns
from tests.scripts.orders import EYES, METER, POCKET, made, ordered, sources

STOPS = {"found", "no_fault", "unlisted", "inseparable", "intermittent", "tests_spent", "danger"}
QUICK = [("crew_cab_tray", EYES, 8), ("crew_cab_tray", METER, 8), ("open crew_cab_tray", METER, 8)]
#: words of the trade that an owner need not know
HARD = [
    "terminal", "termination", "resistance", "voltage", "voltages", "circuit", "continuity", "polarity",
    "alternator", "multimeter", "ohm", "ohms", "lug", "lugs", "chassis", "isolator", "ampere", "amperes", "conductor",
    "ground",
    "earth", "probe", "probes", "shunt", "relay", "diode", "busbar", "ignition", "crimp", "corrosion", "corroded",
    "open-circuit", "short-circuit", "dc", "ac", "potential", "load", "loads", "drop",
]  # fmt: skip


def _scripts() -> list[object]:
    quick = [pytest.param(*one, id=f"{one[0]}-{'-'.join(one[1])}") for one in QUICK]
    rest = [
        pytest.param(name, METER, 6, id=f"{name}-meter", marks=pytest.mark.slow)
        for name in (*layout_ids(), *(f"open {one}" for one in layout_ids())) if not name.endswith("crew_cab_tray")
    ]  # fmt: skip
    pocket = pytest.param("crew_cab_tray", POCKET, 4, id="crew_cab_tray-pocket", marks=pytest.mark.slow)
    return [*quick, pocket, *rest]


def questions(script: Script) -> dict[str, Question]:
    """Return the questions by name."""
    return {name: step for name, step in script.steps.items() if isinstance(step, Question)}


def before(script: Script) -> tuple[dict[str, int], dict[str, set[Take]], dict[str, set[str]]]:
    """Return by step the longest way to it, and all tests and steps that may stand on a way to it."""
    longest: dict[str, int] = {script.root: 0}
    takes: dict[str, set[Take]] = {script.root: set()}
    names: dict[str, set[str]] = {script.root: set()}
    order = list(script.steps)
    for name, step in questions(script).items():
        for go in dict.fromkeys(answer.go for answer in step.answers):
            assert order.index(go) > order.index(name), "an answer leads back"
            longest[go] = max(longest.get(go, 0), longest[name] + 1)
            takes.setdefault(go, set()).update(takes[name] | {step.take})
            names.setdefault(go, set()).update(names[name] | {name})
    return longest, takes, names


@pytest.mark.parametrize(("layout", "tools", "depth"), _scripts())
def test_no_dead_end_and_no_step_twice(layout: str, tools: tuple[str, ...], depth: int) -> None:
    script = made(layout, tools, depth)
    longest, takes, names = before(script)
    assert set(longest) == set(script.steps), "a step that nothing leads to, or an answer that leads nowhere"
    assert max(longest.values()) <= depth
    for name, step in questions(script).items():
        assert step.take not in takes[name], f"{name} asks again what was asked before"
        assert name not in names[name]


@pytest.mark.parametrize(("layout", "tools", "depth"), _scripts())
def test_answers_leave_no_gap_and_do_not_overlap(layout: str, tools: tuple[str, ...], depth: int) -> None:
    for name, step in questions(made(layout, tools, depth)).items():
        words = [a.read for a in step.answers if a.read is not None]
        bands = [a for a in step.answers if a.read is None]
        assert words.count("skipped") == 1, name
        assert len(set(words)) == len(words), name
        assert all(a.label for a in step.answers)
        if bands:
            assert (bands[0].low, bands[-1].high) == (None, None), name
            assert all(a.high == b.low is not None for a, b in pairwise(bands)), name
            edges = [b.low for b in bands[1:]]
            assert edges == sorted(set(edges)), name  # type: ignore[type-var]
            assert len({a.unit for a in bands}) == 1
            assert "unsteady" in words
        elif step.unknown is not None:
            assert set(words) - {"skipped"} == set(load_unknowns()[step.unknown].answers), name
        else:
            assert set(words) - {"skipped"} <= set(words_for(step.take.quantity, step.take.meter)), name
            assert len(words) >= 3


@pytest.mark.parametrize(("layout", "tools", "depth"), _scripts())
def test_every_end_says_all_that_follows(layout: str, tools: tuple[str, ...], depth: int) -> None:
    script = made(layout, tools, depth)
    ends = [step for step in script.steps.values() if isinstance(step, End)]
    assert ends
    assert script.cautions
    for end in ends:
        assert end.end in STOPS
        assert len(end.bring) <= 3
        assert bool(end.bring) <= end.send
        assert len(end.tell) == 3
        assert end.not_safe
        assert end.meanwhile
        assert end.costs.visit > 0
        assert end.costs.says
        assert end.faults
        assert end.cautions
        assert end.send or end.end != "danger"
        named = {s.name for s in end.faults} | {s.fault.fault.replace("_", " ") for s in end.faults}
        assert not any(name in " ".join(end.tell) for name in named), "a diagnosis that is not proved is told"


def test_what_an_installers_ends_remind_of_stands_in_full_before_the_first_question() -> None:
    script = made("solar_only_van", POCKET, 5)
    known = {caution.brief: caution.says for caution in load_rules().cautions.values()}
    ends = [step for step in script.steps.values() if isinstance(step, End)]
    reminded = {known[brief] for end in ends for brief in end.cautions}
    assert reminded
    assert reminded <= set(script.cautions)


def test_an_installers_page_opens_with_words_for_one_who_stands_at_the_vehicle() -> None:
    scripts = made("crew_cab_tray", EYES, 3), made("solar_only_van", POCKET, 5)
    owner, installer = scripts[0].cautions, scripts[1].cautions
    assert "caller" in scripts[0].first
    assert not any("caller" in line or "telephone" in line for line in (*installer, scripts[1].first))
    assert installer[0].startswith("Smoke")
    assert owner[0].startswith("Smoke")


@pytest.mark.parametrize("tools", [EYES, METER])
def test_danger_is_asked_for_first(tools: tuple[str, ...]) -> None:
    script = made("crew_cab_tray", tools, 8)
    longest, _, _ = before(script)
    for name, step in questions(script).items():
        assert step.danger == (longest[name] < 2), name
        for answer in step.answers:
            if step.danger and answer.read in ("smoking", "swollen", "acid", "burnt", "hot", "melted", "wet"):
                end = script.steps[answer.go]
                assert isinstance(end, End)
                assert end.end == "danger"


def test_two_readings_that_could_not_be_had_end_it() -> None:
    """Who cannot smell a sign of danger, or cannot see one, may still read a lamp: one of the two does not count."""
    script = made("crew_cab_tray", EYES, 8)
    for answered in ("good", "none"):
        at, skipped = script.steps[script.root], 0
        while isinstance(at, Question):
            told = [a.go for a in at.answers if a.read == answered and at.danger]
            skipped += not at.danger
            at = script.steps[told[0] if told else next(a.go for a in at.answers if a.read == "skipped")]
        assert skipped == 2, answered


def test_who_can_tell_nothing_of_danger_is_asked_nothing_more() -> None:
    script = made("crew_cab_tray", METER, 8)
    at, asked = script.steps[script.root], 0
    while isinstance(at, Question):
        assert at.danger
        asked += 1
        at = script.steps[next(a.go for a in at.answers if a.read == "skipped")]
    assert asked == 2
    assert at.send


@pytest.mark.parametrize(("layout", "tools"), [("crew_cab_tray", EYES), ("solar_only_van", METER)])
def test_what_is_hot_brown_or_melted_ends_the_script_on_any_card(layout: str, tools: tuple[str, ...]) -> None:
    script, words, found = made(layout, tools, 8), load_script_words(), 0
    parts = sources(layout).installation.parts
    for step in questions(script).values():
        usual = words.usual.get(parts[step.take.where[0]].kind, ()) if step.take.where[0] in parts else ()
        for answer in step.answers:
            if answer.read in set(words.stops.get(step.take.quantity, ())) - set(usual):
                end = script.steps[answer.go]
                assert isinstance(end, End)
                assert (end.end, end.send) == ("danger", True)
                assert not end.photos, "nobody goes back to what is dangerous for a picture"
                found += not step.danger
    assert found


@pytest.mark.parametrize("layout", ["crew_cab_tray", "canopy"])
def test_after_a_complaint_that_is_a_sign_of_danger_nothing_is_switched_on(layout: str) -> None:
    order = ordered(METER, 6)._replace(complaint="the battery is smoking")
    script = compile_script(sources(layout), order)
    assert script.known == "rotten_eggs_or_bulging"
    asked = questions(script).values()
    assert {step.take.when for step in asked} == {"at_rest"}
    assert any(not step.danger for step in asked)


@pytest.mark.parametrize("layout", ["crew_cab_tray", "relay_pair"])
def test_a_sign_of_danger_is_told_with_what_it_speaks_for_and_no_more(layout: str) -> None:
    """An acid smell, a swollen case speak for a battery that is overcharged or shorted, not for a loose lug."""
    script = made(layout, METER, 8)
    root = script.steps[script.root]
    assert isinstance(root, Question)
    for answer in root.answers:
        end = script.steps[answer.go]
        if answer.read == "swollen" and isinstance(end, End):
            assert end.end == "danger"
            assert not {"blown", "open_circuit", "wrong_setting"} & {s.fault.fault for s in end.faults}
            assert "nothing wrong" not in end.say
            assert not any(int(said) < 5 for said in re.findall(r"(\d+) %", end.say)), end.say
            return
    raise AssertionError("nobody is asked whether the battery bulges")


@pytest.mark.parametrize("layout", ["crew_cab_tray", "caravan_tow_plug", "motorhome_variable"])
def test_no_two_cards_that_ask_for_different_things_say_the_same(layout: str) -> None:
    said: dict[str, set[Take]] = {}
    for step in questions(made(layout, METER, 8)).values():
        if not step.danger:
            said.setdefault(f"{step.say} {step.how}", set()).add(step.take)
    assert len(said) > 8
    same = {text: takes for text, takes in said.items() if len(takes) > 1}
    assert not same, same


def test_an_installer_with_eyes_is_asked_for_danger_first() -> None:
    script = compile_script(sources("relay_pair"), ordered(METER, 4)._replace(owner=False))
    step = script.steps[script.root]
    assert isinstance(step, Question)
    assert step.danger


@pytest.mark.parametrize(("layout", "tools"), [("canopy", METER), ("relay_pair", METER), ("motorhome_variable", EYES)])
def test_an_owner_is_never_told_to_charge_what_must_not_be_charged(layout: str, tools: tuple[str, ...]) -> None:
    words, charged = load_script_words(), 0
    charge, shine = (words.owner_can[name].partition("{thing}")[2] for name in ("discharged", "low_output"))
    for end in made(layout, tools, 8).steps.values():
        if isinstance(end, End) and any(line.endswith(charge) for line in end.tell):
            assert not {words.not_safe["shorted_cell"], words.not_safe["short_to_negative"]} & set(end.not_safe)
            charged += 1
        if isinstance(end, End) and any(line.endswith(shine) for line in end.tell):
            assert words.not_safe["short_to_negative"] not in end.not_safe
    assert charged or layout != "canopy"


@pytest.mark.parametrize("tools", [EYES, METER])
def test_an_owner_is_asked_for_nothing_forbidden(tools: tuple[str, ...]) -> None:
    layout = sources_parts()
    for name, step in questions(made("crew_cab_tray", tools, 8)).items():
        take = step.take
        assert take.quantity in ("look", "smell", "lamp", "works", "volts"), name
        assert take.when not in ("isolated", "mains_on"), name
        assert take.when != "cranking" or take.quantity == "works", "nobody stands at an engine that is cranked"
        assert take.jumper is None
        assert take.swap is None
        assert not any("@" in place for place in take.where), name
        if take.quantity == "volts":
            assert layout[take.where] in ("battery", "load", "charger"), name


def sources_parts() -> Mapping[tuple[str, ...], str]:
    """Return the kind of each two-pole part by its poles, and the charger by its sides."""
    parts = sources("crew_cab_tray").installation.parts.values()
    sides = {("charger_in", "charger_neg"): "charger", ("charger_out", "charger_neg"): "charger"}
    return {(p.pos, p.neg): p.kind for p in parts if hasattr(p, "pos")} | sides  # type: ignore[union-attr]


def test_what_is_not_allowed_is_not_asked() -> None:
    for step in questions(made("crew_cab_tray", EYES, 4, ())).values():
        assert not step.take.when.startswith("engine")
    for step in questions(made("crew_cab_tray", METER, 6, ("engine",))).values():
        assert "charger_neg" not in step.take.where, "a charger's screws lie behind a cover"


def test_a_side_of_the_charger_has_a_name_that_says_where_it_leads() -> None:
    said = {step.take.where[0]: step.say for step in questions(made("crew_cab_tray", METER, 8)).values()}
    assert "engine side" in said["charger_in"]
    assert "battery side" in said["charger_out"]


@pytest.mark.parametrize(
    ("layout", "tools"), [("crew_cab_tray", EYES), ("crew_cab_tray", METER), ("open crew_cab_tray", METER)]
)
def test_words_of_cards(layout: str, tools: tuple[str, ...]) -> None:
    lengths = []
    for step in questions(made(layout, tools, 8)).values():
        said = re.findall(r"[\w'-]+", step.say)
        assert len(said) <= 15, step.say
        assert "and" not in [w.lower() for w in said], step.say
        # what is on a card for the caller: the saying, how it is done, the answers
        text = " ".join([step.say, step.how, *(a.label for a in step.answers if a.read is not None)])
        hard = {w.lower() for w in re.findall(r"[\w-]+", text)} & set(HARD)
        assert not hard, (hard, text)
        bands = [a for a in step.answers if a.read is None]
        assert not any(f"{a.low:g}" in f"{step.say} {step.how}" for a in bands if a.low is not None)
        lengths += [len(s.split()) for s in re.split(r"[.?!]\s+", f"{step.say} {step.how}") if s]
    assert sum(lengths) / len(lengths) < 14


def test_words_of_what_may_be_unknown() -> None:
    """All cards there are, whether a script came to ask them or not."""
    for one in load_unknowns().values():
        text = " ".join([one.say, one.how, *(answer.label for answer in one.answers.values())])
        assert not {w.lower() for w in re.findall(r"[\w-]+", text)} & set(HARD), text
        assert len(re.findall(r"[\w'-]+", one.say)) <= 15
        assert "and" not in re.findall(r"\w+", text.lower())


@pytest.mark.parametrize("tools", [EYES, METER])
def test_words_of_ends(tools: tuple[str, ...]) -> None:
    lengths = []
    for end in made("crew_cab_tray", tools, 8).steps.values():
        if isinstance(end, End):
            told = " ".join([*end.tell, *end.meanwhile, *end.not_safe])
            assert not {w.lower() for w in re.findall(r"[\w-]+", told)} & set(HARD), told
            lengths += [len(s.split()) for s in re.split(r"[.?!]\s+", told) if s]
    assert sum(lengths) / len(lengths) < 14


def test_the_same_order_gives_the_same_script() -> None:
    assert compile_script(sources("crew_cab_tray"), ordered(EYES, 3)) == made("crew_cab_tray", EYES, 3)

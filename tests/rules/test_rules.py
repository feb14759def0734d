"""The rule base as data: complete, linked, cited, plain for owners, and true to the forms that others build on."""

import re
import shutil
from collections import Counter

import pytest
import yaml

from diagnose.basics.errors import BadInput
from diagnose.inference.complaints import match_complaint
from diagnose.model.figures import NO_SOURCE
from diagnose.model.reading import QUANTITIES, STATES
from diagnose.store.data_folder import rules_folder
from diagnose.store.rule_checks import owner_lines
from diagnose.store.rule_examples import load_cause_examples, load_examples
from diagnose.store.rule_marks import MOST_OWNER_WORDS
from diagnose.store.rules import load_rules

# The fault table that others build on: fault -> (kinds and where it sits, unit of its size).
JOINTS = {(kind, "part") for kind in ["cable", "switch", "contact", "bond", "relay", "diode", "shunt"]}
JOINTS |= {("cable", "termination"), ("fuse", "termination")}
SOURCES = {("charger", "part"), ("supply", "part"), ("panel", "part")}
BATTERY, ALTERNATOR, FUSE = {("battery", "part")}, {("alternator", "part")}, {("fuse", "part")}
FAULTS = {
    "open_circuit": (JOINTS, None),
    "high_resistance": (JOINTS, "ohm"),
    "intermittent": (JOINTS, None),
    "blown": (FUSE, None),
    "wrong_rating": (FUSE, "share of rating"),
    "undersized": ({("cable", "part")}, "share of area"),
    "short_to_negative": ({("cable", "part"), ("switch", "part"), ("contact", "part")}, "ohm"),
    "reversed": ({("panel", "part"), ("battery", "part"), ("load", "part"), ("charger", "part")}, None),
    "wrong_connection": ({("cable", "termination")}, None),
    "wrong_setting": ({("charger", "part")}, "V"),
    "discharged": (BATTERY, "V"),
    "high_internal_resistance": (BATTERY, "ohm"),
    "shorted_cell": (BATTERY, None),
    "lost_capacity": (BATTERY, "share of capacity"),
    "protection_open": (BATTERY, None),
    "no_output": (SOURCES, None),
    "low_output": (SOURCES, "fraction"),
    "too_hot": (SOURCES, "degC"),
    "undercharging": (ALTERNATOR, "V"),
    "overcharging": (ALTERNATOR, "V"),
    "leaking_diode": (ALTERNATOR, None),
    "excess_load": ({("load", "part"), ("battery", "part")}, "A"),
}
MINUTES = {
    **dict.fromkeys(("volts", "amps", "ripple", "smell", "wiggle"), 1.0),
    **dict.fromkeys(("look", "tug", "lamp", "works", "celsius"), 0.5),
    **{"ohms": 4.0, "load_test": 3.0, "gravity": 6.0, "jumper": 2.0, "swap": 2.0},
}
TOOLS = {
    **dict.fromkeys(("volts", "ohms", "ripple"), "multimeter"),
    **dict.fromkeys(("lamp", "look", "smell", "works"), "eyes"),
    **dict.fromkeys(("tug", "wiggle"), "hands"),
    **{"amps": "clamp", "celsius": "thermometer", "load_test": "load_tester", "gravity": "hydrometer"},
}
RUNNING = ("engine_running", "engine_idle", "engine_running_loaded", "engine_and_sun")
# Names of units, chemistries, standards' bodies and the like; any other capital inside a sentence may be a brand.
CAPITALS = {"A", "AC", "AGM", "Ah", "DC", "LFP", "K", "Mohm", "OL", "V", "W", "I"}

RULES = load_rules()
SECTIONS = ("faults", "tests", "complaints", "cautions", "causes", "operating_states")
FILES = sorted(path for section in SECTIONS for path in (rules_folder() / section).iterdir())
EVERY = [rule for section in SECTIONS for rule in getattr(RULES, section).values()]


def test_one_rule_a_file():
    assert len(FILES) == len(EVERY)
    assert all(path.suffix == ".yaml" for path in FILES)


def test_every_fault_of_the_form_is_there():
    assert set(RULES.faults) == set(FAULTS)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_sits_where_the_form_says(fault):
    rule, (places, unit) = RULES.faults[fault], FAULTS[fault]
    seen = Counter((kind, place.where) for place in rule.sits_at for kind in place.kinds)
    assert set(seen) == places
    assert max(seen.values()) == 1, "a place that is named twice counts double"
    assert (rule.size.unit if rule.size else None) == unit


def test_minutes_and_tools_are_those_of_the_form():
    assert {name: test.minutes for name, test in RULES.tests.items()} == MINUTES
    assert {name: test.tools for name, test in RULES.tests.items() if name in QUANTITIES} == {
        name: (tool,) for name, tool in TOOLS.items()
    }


def test_added_minutes_agree_with_the_table():
    table = yaml.safe_load((rules_folder() / "tables" / "minutes.yaml").read_text(encoding="utf-8"))
    assert table["change_of_state"]["value"] == 1
    assert {table["jumper_or_swap"]["value"]} == {RULES.tests[name].minutes for name in ("jumper", "swap")}


def test_every_test_names_mistakes():
    assert all(len(test.mistakes) >= 2 for test in RULES.tests.values())


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_number_has_unit_source_and_confidence(path):
    """A mapping that holds a number also holds, or lies inside one that holds, a source and a confidence."""
    bare = []

    def walk(data, where, cited):
        if isinstance(data, dict):
            cited = cited or {"source", "confidence"} <= set(data)
            for key, value in data.items():
                # Readings and installations hold quantities with units of their own; weights and counts have none.
                if key not in ("examples", "sits_at", "hands", "evidence_fades_days"):
                    walk(value, (*where, key), cited)
        elif isinstance(data, list):
            for number, value in enumerate(data):
                walk(value, (*where, number), cited)
        elif isinstance(data, int | float) and not isinstance(data, bool) and not cited:
            bare.append(where)

    walk(yaml.safe_load(path.read_text(encoding="utf-8")), (), False)
    assert bare == []


def test_judgement_is_called_judgement():
    for rule in RULES.faults.values():
        for cited in (rule.frequency, rule.repair, *rule.sights, *([rule.size] if rule.size else [])):
            assert (cited.source == NO_SOURCE) == (cited.confidence == "judgement")


@pytest.mark.parametrize("rule", EVERY, ids=lambda rule: f"{type(rule).__name__} {rule.id}")
def test_an_owner_gets_one_plain_thing_at_a_time(rule):
    for _, line in owner_lines(rule):
        assert len(line.split()) <= MOST_OWNER_WORDS
        assert " and " not in line.lower()
        jargon = "circuit voltage resistance terminal polarity ohm current multimeter earth continuity"
        assert not set(re.findall(r"[a-z]+", line.lower())) & (set(jargon.split()) - {"current"})


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_nothing_looks_like_a_brand(path):
    suspects = []

    def walk(data):
        if isinstance(data, dict):
            for key, value in data.items():
                if key not in ("source", "installation", "readings"):
                    walk(value)
        elif isinstance(data, list):
            for value in data:
                walk(value)
        elif isinstance(data, str):
            inside = re.findall(r"(?<![.!?:] )(?<!^)\b[A-Z][A-Za-z]*", data)
            suspects.extend(word for word in inside if word not in CAPITALS)

    walk(yaml.safe_load(path.read_text(encoding="utf-8")))
    assert suspects == []


def test_a_sound_part_shows_a_word_equally_often_in_every_rule():
    chances = {}
    for rule in RULES.faults.values():
        for sight in rule.sights:
            chances.setdefault((sight.quantity, sight.word), set()).add(sight.sound)
    assert {word: seen for word, seen in chances.items() if len(seen) > 1} == {}


def test_words_seen_at_one_fault_leave_room_for_seeing_nothing():
    for rule in RULES.faults.values():
        for quantity in {sight.quantity for sight in rule.sights}:
            assert sum(sight.chance for sight in rule.sights if sight.quantity == quantity) <= 0.99


def test_complaints_are_the_trade_s_twenty_five_and_two_are_dangers():
    assert len(RULES.complaints) == 25
    assert {name for name, rule in RULES.complaints.items() if rule.danger} == {"plug_melted", "rotten_eggs_or_bulging"}
    assert all(5 <= len(rule.words) <= 12 for rule in RULES.complaints.values())
    assert all(rule.cautions for rule in RULES.complaints.values() if rule.danger)


@pytest.mark.parametrize("complaint", sorted(RULES.complaints))
def test_people_s_own_words_lead_to_their_complaint(complaint):
    rule = RULES.complaints[complaint]
    found = {words: getattr(match_complaint(words, RULES), "id", None) for words in (rule.says, *rule.words)}
    assert {words: other for words, other in found.items() if other != complaint} == {}


def test_every_live_state_with_the_engine_carries_its_cautions():
    for state in RUNNING:
        bound = {name for name, caution in RULES.cautions.items() if state in caution.states}
        assert {"open_air", "hold_vehicle", "moving_parts", "no_lead_off_running", "roadside"} <= bound
    bound = {name for name, caution in RULES.cautions.items() if "isolated" in caution.states}
    assert {"isolate_first", "negative_first", "airbag_wait", "codes_and_locks", "no_sparks", "boat_vapour"} <= bound
    assert {state for caution in RULES.cautions.values() for state in caution.states} >= set(STATES) - {"loaded"}


@pytest.mark.parametrize(
    ("field", "value", "cautions"),
    [
        ("actions", "jumper", {"jumper_fused", "jumper_never", "airbag_wiring", "boat_vapour"}),
        ("actions", "swap", {"fuse_like_for_like", "cool_first", "isolate_first"}),
        ("actions", "repair", {"cool_first", "isolate_first", "rules_first", "orange_cables"}),
        ("actions", "crimp", {"crimp_heat"}),
        ("quantities", "ohms", {"ohms_dead_only"}),
        ("quantities", "volts", {"volts_sockets"}),
        ("quantities", "gravity", {"acid", "eyes_and_rings"}),
        ("quantities", "load_test", {"load_tester_use", "eyes_and_rings", "no_sparks"}),
        ("kinds", "battery", {"eyes_and_rings", "no_sparks"}),
        ("kinds", "panel", {"panel_live"}),
        ("kinds", "supply", {"mains_closed"}),
        ("chemistries", "lfp", {"lithium_cold", "lithium_alarm"}),
        ("faults", "blown", {"fuse_like_for_like", "second_fuse", "cool_first"}),
    ],
)
def test_what_can_hurt_carries_its_cautions(field, value, cautions):
    assert cautions <= {name for name, caution in RULES.cautions.items() if value in getattr(caution, field)}


def test_a_caution_stands_before_the_instruction_and_never_asks_for_what_is_forbidden():
    forbidden = r"\b(bridge the fuse|larger fuse|open the battery|wrap)\b"
    for rule in RULES.faults.values():
        assert rule.cautions, f"{rule.id} is mended without a caution"
        assert not re.search(forbidden, rule.remedy)
    assert all(RULES.tests[name].states == ("isolated",) for name in ("ohms",))
    assert all(test.cautions for test in RULES.tests.values() if test.hands)
    assert not any(RULES.tests[name].owner_may for name in ("ohms", "jumper", "swap", "tug", "gravity", "load_test"))


def test_examples_can_be_read_and_each_fault_has_one_of_either_kind():
    examples = load_examples()
    kinds = {(each.rule.id, each.example.ranks_first) for each in examples}
    assert kinds == {(fault, first) for fault in FAULTS for first in (True, False)}
    for each in examples:
        assert 3 <= len(each.readings.readings) <= 6, each.label


def _broken(tmp_path, section, name, old, new):
    folder = tmp_path / "rules"
    shutil.copytree(rules_folder(), folder)
    file = folder / section / f"{name}.yaml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("section", "name", "old", "new", "says"),
    [
        ("faults", "blown", "id: blown", "id: blwn", "write id: blown"),
        ("faults", "blown", "change: open_element", "change: open_elemnt", "did you mean open_element?"),
        ("faults", "blown", "kinds: [fuse]", "kinds: [fuze]", "did you mean fuse?"),
        ("faults", "blown", "word: blown", "word: blow", "did you mean blown?"),
        ("faults", "blown", "cautions: [isolate_first", "cautions: [isolat_first", "did you mean isolate_first?"),
        ("faults", "blown", "sound: 0.002", "sound: 0.92", "no commoner with the fault"),
        ("faults", "blown", "ranks_first: false", "ranks_first: true", "no look-alike that must not"),
        ("faults", "blown", "tell: A fuse", "tell: A b c d e f g h i j fuse", "say it in 15 words"),
        ("faults", "high_resistance", "low: 0.010", "low: 0", "no logarithm"),
        ("tests", "ohms", "states: [isolated]", "states: [isolatd]", "did you mean isolated?"),
        ("tests", "ohms", "source: design_table", "source: design_tabel", "did you mean design_table?"),
        ("tests", "ohms", "minutes: 4.0", "minutes: -4.0", "must be above 0"),
        ("complaints", "never_full", "[wrong_setting]", "[wrong_seting]", "did you mean wrong_setting?"),
        ("cautions", "acid", "quantities: [gravity]", "quantities: [gravty]", "did you mean gravity?"),
        ("cautions", "acid", "confidence: read", "confidence: judgement", "`source` and `confidence` disagree"),
    ],
)
def test_a_defect_is_named_with_its_place(tmp_path, section, name, old, new, says):
    with pytest.raises(BadInput) as caught:
        load_rules(_broken(tmp_path, section, name, old, new))
    texts = [problem.text() for problem in caught.value.problems]
    assert any(re.match(rf"rules/{section}/{name}\.yaml:\d+:\d+: ", text) and says in text for text in texts), texts


def test_all_defects_are_said_at_once(tmp_path):
    folder = _broken(tmp_path, "faults", "blown", "id: blown", "id: blwn")
    (folder / "tests" / "ohms.yaml").write_text("id: ohms\n", encoding="utf-8")
    (folder / "cautions" / "acid.yaml").write_text("id: [\n", encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        load_rules(folder)
    files = {problem.file for problem in caught.value.problems}
    assert {"rules/faults/blown.yaml", "rules/tests/ohms.yaml", "rules/cautions/acid.yaml"} <= files


# What the trade meets beside the electrical faults themselves; several names where it takes more than one cause.
CAUSES = {
    "melted holder round a sound fuse": ["melted_holder"],
    "lug crimped on insulation, or on few strands": ["lug_on_insulation", "lug_on_few_strands"],
    "paint or anodising under a lug; body or tray not bonded": ["paint_under_lug", "body_not_bonded"],
    "corroded tow-plug pole": ["corroded_plug_pole"],
    "charger negative off common ground": ["charger_negative_off_ground"],
    "cable too thin for its run": ["cable_too_thin"],
    "ignition lead missing, dying while cranking, always live": [
        "ignition_lead_missing", "ignition_dies_cranking", "ignition_always_live",
    ],
    "profile lead broken, left open, on the wrong place": [
        "profile_lead_broken", "profile_lead_left_open", "profile_lead_wrong_place",
    ],
    "wrong profile for the chemistry": ["wrong_profile_for_chemistry"],
    "LFP protection open": ["lfp_protection_flat", "lfp_protection_high"],
    "charger beside the exhaust": ["charger_beside_exhaust"],
    "input and output swapped": ["input_output_swapped"],
    "panel reversed or shaded": ["panel_reversed", "panel_shaded"],
    "tired, sulphated, low-capacity battery; shorted cell": [
        "tired_battery", "sulphated_battery", "low_capacity_battery", "shorted_plates",
    ],
    "weak alternator, slipping belt, failed diode": [
        "weak_alternator", "slipping_belt", "failed_diode", "failed_regulator",
    ],
    "drain with all off; loads on the wrong side": ["drain_all_off", "load_on_wrong_side"],
    "fuse of wrong rating, open but looks good, opened by its holder": [
        "wrong_fuse_fitted", "element_open_looks_good", "holder_heat_opened",
    ],
    "stiff locking nut; strained crimp; chafed cable": ["stiff_locking_nut", "crimp_strained_by_bend", "chafed_cable"],
    "unused leads left bare; return past the battery sensor": ["unused_lead_bare", "return_past_sensor"],
    "intermittent joint: vibration, heat": ["vibration_joint", "heat_joint"],
}  # fmt: skip


def test_what_the_trade_meets_is_there():
    assert {name for names in CAUSES.values() for name in names} <= set(RULES.causes)


def test_every_fault_has_a_cause():
    assert {brought.fault for rule in RULES.causes.values() for brought in rule.brings} == set(FAULTS)


def test_a_cause_is_mended_with_cautions_and_noticed_by_people():
    for rule in RULES.causes.values():
        assert rule.cautions, f"{rule.id} is mended without a caution"
        assert len(rule.noticed) >= 3, rule.id


def test_every_test_says_what_it_needs():
    for rule in RULES.tests.values():
        assert rule.access, rule.id
        assert rule.states, rule.id
        assert len(rule.mistakes) >= 3, rule.id
    assert {name for name, rule in RULES.tests.items() if rule.permission} == {
        "gravity", "jumper", "load_test", "ohms", "swap",
    }  # fmt: skip


# The traps of measuring that every meter hand knows (common practice), and a test whose mistakes must speak of each.
TRAPS = {
    "lead in the current socket": ("volts", "current socket"),
    "ghost volts through corrosion": ("volts", "corroded joint with nothing drawing"),
    "clamp keeps magnetism": ("amps", "magnetism"),
    "clamp not zeroed": ("amps", "not zeroed"),
    "both conductors in the jaws": ("amps", "both conductors"),
    "drop without current": ("volts", "hardly any current"),
    "probe on paint or on the clamp": ("volts", "probe on paint"),
    "idle, or a variable alternator": ("volts", "idle"),
    "battery full": ("amps", "battery is full"),
    "surface charge": ("volts", "off charge a moment ago"),
    "start delay": ("amps", "starting delay"),
    "two readings subtracted": ("volts", "subtracted"),
    "unit, sign, decimal point": ("volts", "decimal point"),
    "over range": ("ohms", "OL"),
    "low meter cell": ("volts", "low battery in the meter"),
    "module awake": ("amps", "module still awake"),
    "fuse looks whole": ("look", "looks whole"),
    "beep taken for a good joint": ("ohms", "beep"),
    "stiff nut": ("tug", "stiff locking nut"),
}


@pytest.mark.parametrize("trap", TRAPS)
def test_the_traps_of_measuring_are_told(trap):
    test, words = TRAPS[trap]
    assert any(words in mistake.says for mistake in RULES.tests[test].mistakes)
    assert all(mistake.reads for mistake in RULES.tests[test].mistakes)


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("melted_holder", "id: melted_holder", "id: melted", "write id: melted_holder"),
        ("melted_holder", "fault: high_resistance,", "fault: high_resistanc,", "did you mean high_resistance?"),
        ("melted_holder", "kinds: [fuse]", "kinds: [fuze]", "did you mean fuse?"),
        ("melted_holder", "kinds: [fuse], where: termination", "kinds: [fuse], where: part", "has no part at a fuse"),
        ("melted_holder", "share: 0.35", "share: 0.95", "bring them to 1 or less"),
        ("melted_holder", "word: melted", "word: meltd", "did you mean melted?"),
        ("melted_holder", "chance: 0.62", "chance: 0.92", "leave room for other words"),
        ("melted_holder", "complaint: plug_melted, ratio", "complaint: plug_meltd, ratio", "did you mean plug_melted?"),
        ("melted_holder", "cautions: [isolate_first", "cautions: [isolat_first", "did you mean isolate_first?"),
        ("melted_holder", "ranks_first: false", "ranks_first: true", "no look-alike that must not"),
        ("melted_holder", "confidence: judgement", "confidence: read", "`source` and `confidence` disagree"),
        ("lfp_protection_flat", "chemistries: [lfp]", "chemistries: [lfpo]", "did you mean lfp?"),
    ],
)  # fmt: skip
def test_a_defect_of_a_cause_is_named_with_its_place(tmp_path, name, old, new, says):
    with pytest.raises(BadInput) as caught:
        load_rules(_broken(tmp_path, "causes", name, old, new))
    texts = [problem.text() for problem in caught.value.problems]
    assert any(re.match(rf"rules/causes/{name}\.yaml:\d+:\d+: ", text) and says in text for text in texts), texts


def test_a_state_that_cites_no_complaint_of_ours_is_refused(tmp_path):
    folder = _broken(tmp_path, "operating_states", "battery_full", "charges_slowly,", "charges_slow,")
    with pytest.raises(BadInput, match="did you mean charges_slowly"):
        load_rules(folder)


def test_examples_of_causes_can_be_read_and_each_has_one_of_either_kind():
    examples = load_cause_examples()
    kinds = {(each.rule.id, each.example.ranks_first) for each in examples}
    assert kinds == {(cause, first) for cause in RULES.causes for first in (True, False)}
    for each in examples:
        assert 2 <= len(each.readings.readings) <= 7, each.label

"""Answers become an installation that loads: on every layout, for Enter, for "don't know", and for anything typed."""

from __future__ import annotations

import random
from io import StringIO

import pytest

from diagnose.cli.asker import Asker
from diagnose.cli.survey_dialogue import ask_survey
from diagnose.model.installation import Installation
from diagnose.model.surveyed import Surveyed
from diagnose.store.data_folder import rules_folder
from diagnose.store.installation_text import check_options, installation_text
from diagnose.store.installations import installation_from_mapping, layout_ids, load_layout
from diagnose.store.survey import load_survey
from diagnose.store.tables import load_tables
from diagnose.store.yaml_text import yaml_document
from diagnose.survey.describe import describe
from diagnose.survey.layout import plain_parts, pruned

SURVEY = load_survey()
TABLES = load_tables(rules_folder())
PLACES = {str(choice.layout): word for word, choice in SURVEY.choices["places"].items()}
LAYOUTS = {layout: load_layout(layout) for layout in PLACES}
#: every question by its beginning, so that a test may answer one and press Enter at the others
ASKS = {topic.asks[:24]: topic.id for topic in SURVEY.topics}


class Person(StringIO):
    """Answers by question: what is written for it, else Enter."""

    def __init__(self, answers: dict[str, str]) -> None:
        super().__init__()
        self.answers = answers
        self.shown = StringIO()

    def readline(self, size: int | None = -1, /) -> str:
        asked = self.shown.getvalue().replace("\n", " ")
        self.shown.seek(0)
        self.shown.truncate()
        topic = next((name for start, name in ASKS.items() if start in asked), "")
        return self.answers.get(topic, "") + "\n"


def surveyed(layout: str, **answers: str) -> Surveyed:
    person = Person({"place": PLACES[layout], **answers})
    told = ask_survey(
        Asker(person, person.shown, plain=True), SURVEY, lambda name: plain_parts(LAYOUTS[name]),
        lambda name: TABLES.number("batteries", name), 400,
    )  # fmt: skip
    assert told.layout == layout
    return describe(SURVEY, told.answers, "A test", layout, told.parts)


def loaded(found: Surveyed) -> Installation:
    document = yaml_document(installation_text(found), "new.yaml")
    return installation_from_mapping(document.data, document, ())


def key(installation: Installation, name: str) -> object:
    part, _, attribute = name.partition(".")
    return getattr(installation.parts[part], attribute)


def test_no_new_part_takes_the_name_of_another() -> None:
    for topic in SURVEY.topics:
        for patch in topic.patches:
            fitted = {name for name, keys in patch.parts.items() if keys and "kind" in keys and keys["kind"] != "bond"}
            for layout in patch.layouts or LAYOUTS:
                has = plain_parts(LAYOUTS[layout])
                if patch.unless and patch.unless.partition(".")[2] in has.get(patch.unless.partition(".")[0], {}):
                    continue
                assert fitted & has.keys() == set(), (layout, patch.field)


def test_every_layout_has_its_word() -> None:
    assert sorted(PLACES) == list(layout_ids())


@pytest.mark.parametrize("layout", PLACES)
def test_enter_at_every_question_is_the_layout_itself(layout: str) -> None:
    new = loaded(surveyed(layout))
    assert new.parts.keys() == LAYOUTS[layout].parts.keys()
    for name, part in LAYOUTS[layout].parts.items():
        written, now = part.model_dump(), new.parts[name].model_dump()
        for record in (written, now):  # the order of the profiles means nothing
            record.get("profiles") and record.update(profiles=sorted(map(str, record["profiles"])))
        assert now == written, name


@pytest.mark.parametrize("layout", PLACES)
def test_what_is_not_known_is_a_range_or_the_layouts(layout: str) -> None:
    found = surveyed(layout, **{topic.id: "?" for topic in SURVEY.topics if topic.id != "place"})
    new = loaded(found)
    battery = new.parts["house_battery"]
    assert battery.capacity.low < battery.capacity.high
    assert battery.chemistry == LAYOUTS[layout].parts["house_battery"].chemistry
    assert "panel" in new.parts or "panel" not in LAYOUTS[layout].parts, "a panel that nobody spoke of"
    assert "not known" in installation_text(found)
    if layout != "solar_only_van":
        assert new.parts["alternator"].regulation == "variable"  # the wider of the two


def test_a_lithium_battery_changes_profile_limit_and_disconnect() -> None:
    new = loaded(surveyed("crew_cab_tray", second_battery="120 Ah lithium ?"))
    assert key(new, "house_battery.protection") is True
    assert key(new, "house_battery.max_charge") == (14.2, 14.6)  # the band of the handbook
    charger = new.parts["charger"]
    assert charger.profile == "LFP"
    assert next(p.voltage for p in charger.profiles if p.name == "LFP").mid <= 14.6
    back = loaded(surveyed("van_lfp_seat", second_battery="100 Ah agm 14.7 V"))
    assert key(back, "house_battery.protection") is False
    assert back.parts["charger"].profile == "AGM"


def test_a_run_through_a_plug_is_shared_out() -> None:
    new = loaded(surveyed("caravan_tow_plug", feed="20 mm2 17 m"))
    runs = [key(new, f"{cable}.length").mid for cable in ("car_cable", "caravan_cable", "caravan_return")]  # type: ignore[attr-defined]
    assert runs == pytest.approx([9.0, 8.0, 8.0])  # 4.5 and 4.0 m in the layout
    assert {key(new, f"{cable}.area") for cable in ("car_cable", "caravan_cable")} == {(20.0, 20.0)}
    both = loaded(surveyed("motorhome_variable", second_battery="300 Ah agm 14.7 V"))
    assert [key(both, f"{name}.capacity").mid for name in ("house_battery", "second_battery")] == [150.0, 150.0]  # type: ignore[attr-defined]


@pytest.mark.parametrize("layout", [name for name in PLACES if name not in ("solar_only_van", "relay_pair")])
def test_leads_and_panel_are_fitted_or_taken_away(layout: str) -> None:
    bare = loaded(surveyed(layout, ignition_lead="no", profile_lead="none", panel="none"))
    charger = bare.parts["charger"]
    assert (charger.ignition, charger.profile_lead, charger.solar) == (None, None, None)
    gone = ("ignition", "profile", "solar", "panel_lead")
    assert not [name for name in bare.parts if name.startswith(gone) or name == "panel"]
    full = loaded(surveyed(layout, ignition_lead="yes", profile_lead="output", panel="150 W 22 V"))
    charger = full.parts["charger"]
    assert None not in (charger.ignition, charger.profile_lead, charger.solar)
    assert key(full, "panel.power") == (150.0, 150.0)
    tied = {profile.name: profile.tied_to for profile in charger.profiles}
    assert tied[charger.profile] == "charger_out"
    assert len(set(tied.values())) == len(tied), "each profile needs a place of its own"
    assert full.parts["profile_cable"].ends == (charger.profile_lead, "charger_out")
    loads = {part.pos for part in LAYOUTS[layout].parts.values() if part.kind == "load"}
    for new in (bare, full):
        assert loads <= {point for part in new.parts.values() for point in getattr(part, "ends", ())} | {"house_pos"}
        parts = plain_parts(new)
        assert pruned(parts, plain_parts(LAYOUTS[layout])) <= {"profile_cable"}, "a cable that leads nowhere"


def test_loads_are_found_again_added_and_taken_away() -> None:
    found = surveyed("caravan_tow_plug", loads="fridge 45 W 12 h, ceiling lights 2 A 3 h, radio 10 W 5 h")
    new = loaded(found)
    assert key(new, "fridge.power") == (45.0, 45.0)
    assert (key(new, "lights.power"), key(new, "lights.resistance")) == ((24.0, 24.0), None)
    assert (new.parts["radio"].pos, new.parts["radio"].neg) == ("house_pos", "house_neg")
    assert {"pump", "pump_fuse", "pump_cable"} & new.parts.keys() == set()
    assert "lights_return" in new.parts
    assert found.load_hours == {"fridge": 12, "lights": 3, "radio": 5}
    assert "radio" in found.notes[0]
    options = "--load-hours fridge=12 --load-hours lights=3 --load-hours radio=5 --driving-hours 2"
    assert check_options(found) == options
    assert options in installation_text(found).replace("\n# ", " ")


def test_a_missing_fuse_is_drawn_as_a_link() -> None:
    new = loaded(surveyed("crew_cab_tray", fuses="50 A none"))
    assert new.parts["house_fuse"].kind == "bond"
    assert new.parts["house_fuse"].ends == ("house_pos", "house_fuse_load")


@pytest.mark.parametrize(
    ("layout", "way", "cable", "ends"),
    [
        ("crew_cab_tray", "cable", "return_cable", ("charger_neg", "start_neg")),
        ("relay_pair", "cable", "return_cable", ("house_neg", "start_neg")),
        ("caravan_tow_plug", "cable", "car_return", ("socket_neg", "start_neg")),
        ("camper_trailer", "body", "car_return", ("socket_neg", "chassis")),
    ],
)
def test_the_return_goes_as_told(layout: str, way: str, cable: str, ends: tuple[str, str]) -> None:
    new = loaded(surveyed(layout, return_path=way, feed="25 mm2 7 m"))
    assert new.parts[cable].ends == ends


def test_each_value_says_where_it_comes_from() -> None:
    lines = installation_text(surveyed("crew_cab_tray", charger="30", feed="6 AWG ?")).splitlines()
    said = {line.split("#")[0].strip(): line.partition("# ")[2] for line in lines}
    assert said["area: 6 AWG"] == "answered"
    assert said["length: 2 to 10 m"] == "not known (range by judgement)"
    assert said["max_charge: 14.7 V"] == "Enter: as in the layout"
    changed = installation_text(surveyed("caravan_tow_plug", second_battery="100 Ah agm 14.3 V"))
    assert "# AGM: Enter: the usual; the others" in changed, "14.3 V is another profile's, and not the layout's for it"
    assert all("#" in line for line in lines if line.startswith("    ") and ":" in line and "- {" not in line)


POOLS = {
    "start_battery": ["", "?", "60 Ah", "gel 5 Ah", "1000 Ah lfp", "calcium"],
    "alternator": ["", "?", "fixed", "variable 90 A", "fixed 500 A", "? 10 A"],
    "second_battery": ["", "?", "lfp", "2000 Ah calcium 16.5 V", "5 Ah gel 13.8 V", "flooded ?", "? agm ?",
                       "50 to 90 Ah"],
    "charger": ["", "?", "200 A 16.5 V", "1 A ?", "? 13.4 V", "10 to 40 A 14.2 to 14.8 V"],
    "ignition_lead": ["", "?", "yes", "no"],
    "profile_lead": ["", "?", "none", "output", "negative", "nothing"],
    "feed": ["", "?", "2/0 AWG 60 m", "0.5 mm2 0.1 m", "? 4 to 6 m", "16 mm2"],
    "return_path": ["", "?", "body", "cable"],
    "fuses": ["", "?", "none none", "500 A 1 A", "? none", "none"],
    "panel": ["", "?", "3000 W 150 V", "5 W 12 V", "160 W ?", "? 22 V", "80 to 200 W 20 to 25 V"],
    "loads": ["", "?", "none", "charger 60 W 3 h", "true 5 W, null 7 W, fridge 0,5 A 24 h", "Kühlbox 40 W: x 3 W",
              "nothing 4 W, start pos 5 W, 'A \"B\" # c' 20 W 1 h", "fridge 30 W, fridge load 3 W, fridge fuse 3 W"],
    "driving": ["", "?", "0", "24 h", "0.5 to 4 h", "90 min"],
}  # fmt: skip


@pytest.mark.parametrize("layout", PLACES)
def test_no_answers_give_a_file_that_does_not_load(layout: str) -> None:
    chance = random.Random(f"survey {layout}")
    for _ in range(8):
        answers = {topic: chance.choice(pool) for topic, pool in POOLS.items()}
        try:
            loaded(surveyed(layout, **answers))
        except Exception as error:
            raise AssertionError(f"{layout}: {answers}") from error

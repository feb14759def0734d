"""The hand-over record as page, lines, Markdown and JSON: everything stands in it, in order, and stays text."""

from __future__ import annotations

import json
import re

import pytest

from diagnose.drawing.placing import picture_of
from diagnose.model.commissioning import Baseline, CommissioningRecord, Judgement
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Reading, Take
from diagnose.present.commissioning_json import record_json
from diagnose.present.commissioning_page import commissioning_page
from diagnose.present.commissioning_text import record_lines, record_markdown
from diagnose.present.commissioning_words import cells_of, gathered, joint_words, ohms_words
from diagnose.present.picture_notes import reading_notes, step_notes
from diagnose.present.svg import svg_text
from diagnose.store.installations import load_layout
from tests.present.commissioning_records import HOSTILE, LONG, RECORD, hostile_record

LAYOUT = load_layout("crew_cab_tray")


def hostile_installation() -> Installation:
    parts = {name: part.model_copy(update={"name": HOSTILE}) for name, part in LAYOUT.parts.items()}
    points = {name: point.model_copy(update={"name": HOSTILE}) for name, point in LAYOUT.points.items()}
    return LAYOUT.model_copy(update={"title": HOSTILE, "parts": parts, "points": points})


def shown(record: CommissioningRecord, installation: Installation = LAYOUT) -> str:
    return commissioning_page(record, installation)


def words(page: str) -> str:
    """Return what a person reads, without style and markup."""
    body = re.sub(r"<[^>]*>", " ", page.partition("<body>")[2])
    return " ".join(body.replace("\u00a0", " ").split())


def test_everything_stands_on_the_page_and_cautions_come_first() -> None:
    text = words(shown(RECORD))
    order = [
        "Hand-over record", RECORD.title, "It is not a certificate", *RECORD.cautions, "1 FAIL, 1 LOOK, 1 INVALID",
        RECORD.open_points[0], "lithium iron phosphate, 100 Ah", "A. Trainee", RECORD.date, "program 0.1.0",
        RECORD.rules_hash, RECORD.installation_hash, *(row.step.title for row in RECORD.rows),
        "Test cards of the trade", "clamp meter: 2 %", "0.250 ± 0.021 milliohm", "POSITIVE RUN", *RECORD.recheck,
    ]  # fmt: skip
    places = [text.find(each) for each in order]
    assert -1 not in places, [each for each, at in zip(order, places, strict=True) if at < 0]
    assert places == sorted(places)


def test_a_row_tells_limit_band_reading_conditions_verdict_why_and_source() -> None:
    page = shown(RECORD)
    row = words("<body>" + page[page.index(">5</td>") :].partition("</tbody>")[0])
    for told in (
        "Volts lost in the positive leg", "start battery positive post to charger input stud; engine running",
        "up to 0.36 V", "0.080 to 0.160 V", "0.30 V", "50.0 A, 24 degC, meter one, 10:42", "FAIL",
        "limit PASS, model FAIL", "9 W in one place", "Limit: 3 % of 12 V", "the charger runs short", "(source 2)",
    ):  # fmt: skip
        assert told in row, told
    assert "To make it valid: Switch loads on" in words(page)


def test_a_verdict_is_told_by_word_and_weight_and_never_by_a_colour() -> None:
    page = shown(RECORD)
    found = re.findall(r'data-label="Verdict"><b>([A-Z ]+)</b>', page)
    assert found == [row.verdict for row in RECORD.rows]
    assert set(re.findall(r"#[0-9a-f]{3,6}\b(?!;)", page.partition("</style>")[0])) <= {"#111", "#fff", "#777", "#444"}


def test_picture_has_the_readings_by_the_number_of_their_step_and_what_failed_heavy() -> None:
    tug = RECORD.rows[0].step._replace(take=Take("tug", ("input_cable@charger_in",), "at_rest"))
    read = Reading(tug.take, Read("word", "loose", word="loose"))
    loose = RECORD.rows[0]._replace(step=tug, verdict="FAIL", reading=read)
    notes = step_notes((*RECORD.rows, RECORD.rows[0]._replace(step=tug)), LAYOUT)
    assert "input_cable" not in notes  # a word that passed would only hide the rest
    assert step_notes((loose,), LAYOUT)["input_cable"][0] == ("1. tug: loose, FAIL", True)
    assert [note.text for note in notes["tray_strap"]] == ["4. drop 0.012\u00a0V"]
    failed = [note for found in notes.values() for note in found if note.heavy]
    assert [note.text for note in failed] == ["5. volts to charger input stud: 0.30\u00a0V, FAIL"]


def test_a_joint_is_named_by_its_part_and_end() -> None:
    take = Take("volts", ("charger_in", "input_cable@charger_in"), "engine_running")
    notes = reading_notes([Reading(take, Read("number", "4 mV", 0.004))], (), LAYOUT)
    assert notes["input_cable"][0].text == "1. joint at charger input stud: 4\u00a0mV, engine running"
    joint = Baseline("input_cable", take.where, 0.0004, 0.00002)  # type: ignore[arg-type]
    assert joint_words(joint, LAYOUT) == "input cable, joint at charger input stud"


@pytest.mark.parametrize("text", ["-0.00", "-0", "\u22120.000 V"])
def test_zero_has_no_sign(text: str) -> None:
    rows = tuple(row._replace(reading=Reading(row.step.take, Read("number", text, -0.0))) for row in RECORD.rows)
    rows = tuple(row._replace(current=-0.0, temperature=-0.0) for row in rows)
    page = shown(RECORD._replace(rows=rows))
    picture = svg_text(picture_of(LAYOUT, reading_notes([row.reading for row in rows if row.reading], (), LAYOUT)))
    told = [words(page), words("<body>" + picture), "\n".join(record_lines(RECORD._replace(rows=rows), LAYOUT))]
    for each in told:
        assert re.search(r"\b0(\.0+)?\s[AV]\b", each)
        assert not re.search(r"[-\u2212]0(\.0*)?(?![\d.-])\s*(V|A|m|deg)", each)


@pytest.mark.parametrize(("ohms", "off", "said"), [
    (0.000512, 0.000104, "0.51 ± 0.10 milliohm"), (0.0123, 0.0011, "12.3 ± 1.1 milliohm"),
    (0.0005, 0.0, "0.500 ± 0.000 milliohm"), (-0.0000001, 0.0001, "0.00 ± 0.10 milliohm"),
])  # fmt: skip
def test_resistance_and_uncertainty_end_at_the_same_digit(ohms: float, off: float, said: str) -> None:
    assert ohms_words(Baseline("tray_strap", ("tray", "chassis"), ohms, off)) == said


def test_hostile_text_in_every_field_is_text() -> None:
    page = shown(hostile_record(), hostile_installation())
    assert "<script" not in page
    assert page.count("</title>") == page.count("<title>") == 3  # of the page and of both its pictures
    assert "49" not in "".join(re.findall(r">([^<]*alert[^<]*)<", page))
    assert page.count("&lt;script&gt;") > 40


def test_hostile_text_in_markdown_breaks_no_table_and_is_no_markup() -> None:
    text = record_markdown(hostile_record(), hostile_installation())
    assert "<script" not in text
    bare = re.sub(r"\\.", "", text)
    assert "**x" not in bare
    tables = [line for line in bare.split("\n") if line.startswith("|")]
    assert {line.count("|") for line in tables} == {3, 12}
    assert sum(line.startswith("#") for line in text.split("\n")) == 8


def test_hostile_text_in_lines_breaks_no_line_and_json_keeps_it() -> None:
    lines = record_lines(hostile_record(), hostile_installation(), 60)
    assert not any("\n" in line for line in lines)
    form = json.loads(json.dumps(record_json(hostile_record())))
    assert form["title"] == form["steps"][0]["says"] == form["baseline"][0]["part"] == HOSTILE


def test_page_is_small_and_has_nothing_to_load_or_run() -> None:
    page = shown(LONG._replace(rows=LONG.rows * 4))
    assert len(page.encode()) < 300_000
    assert page.count('class="number">') == len(LONG.rows) * 4 + 1
    assert not re.findall(r"<(?:script|img|link|iframe|object|form)|\b(?:src|srcset|style|on\w+)=|url\(|@import", page)
    assert "default-src 'none'" in page
    assert set(re.findall(r'href="(.)', page)) == {"#"}


def test_steps_of_a_group_that_passed_by_the_same_word_stand_in_one_row() -> None:
    first = RECORD.rows[0]
    titles = ("Tug the input cable at the stud", "Tug the output cable at the stud", "Tug the strap")
    rows = [first._replace(step=first.step._replace(title=title, group="tug")) for title in titles]
    rows[2] = rows[2]._replace(verdict="FAIL")
    record = RECORD._replace(rows=(*rows, RECORD.rows[3], *rows[:2]))
    cells = gathered(cells_of(record, LAYOUT)[0])
    assert [one.number for one in cells] == ["1–2", "3", "4", "5–6"]
    assert (cells[0].title, cells[0].where, cells[0].read) == (
        "Tug", "the input cable at the stud; the output cable at the stud; at rest", "yes, each of 2",
    )  # fmt: skip
    assert sum(one.steps for one in cells) == 6


def test_what_is_held_in_another_unit_than_the_reading_is_told_in_it() -> None:
    drop, checked = RECORD.rows[3], RECORD.rows[1]
    joint = drop._replace(step=drop.step._replace(judge="drop"), by_model=Judgement("PASS", 1e-4, 8e-4, ""))
    torque = checked._replace(step=checked.step._replace(judge="torque"), by_limit=Judgement("PASS", 4.8, 7.5, ""))
    cells, _ = cells_of(RECORD._replace(rows=(joint, torque)), LAYOUT)
    assert cells[0].here.replace("\u00a0", " ") == "0.10 to 0.80 milliohm"
    assert cells[1].limit.replace("\u00a0", " ") == "4.8 to 7.5 Nm"


def test_json_has_the_form_and_every_step() -> None:
    form = record_json(RECORD)
    assert form["schema"] == "diagnose/commissioning/1"
    assert [step["verdict"] for step in form["steps"]] == [row.verdict for row in RECORD.rows]
    assert form["steps"][4]["expected_here"]["high"] == 0.16
    assert form["steps"][7]["read"] is None
    assert form["baseline"][0]["standard_uncertainty"] == 2.1e-05


def test_lines_keep_their_width_and_paint_only_what_is_not_passed() -> None:
    lines = record_lines(RECORD, LAYOUT, 50, colour=True)
    plain = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in lines]
    assert plain == record_lines(RECORD, LAYOUT, 50)
    assert max(map(len, plain)) <= 50
    painted = [line for line in lines if "\x1b" in line]
    assert len(painted) == 4
    assert not any("PASS" in line.partition("\x1b[0m")[0] for line in painted)

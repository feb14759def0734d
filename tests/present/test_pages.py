"""Pages and pictures: hostile text stays text, and the report of a job holds what was read."""

import re
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.drawing.placing import picture_of
from diagnose.model.installation import Installation
from diagnose.present.pages import markup, page
from diagnose.present.svg import svg_slices, svg_text
from diagnose.store.installations import load_layout

HOSTILE = "<script>alert(1)</script>\"'&{{7*7}}</title>"
JOB = "cases/examples/crew_cab_tray_job.jsonl"


def hostile() -> Installation:
    found = load_layout("crew_cab_tray")
    part = found.parts["fridge"].model_copy(update={"name": HOSTILE})
    point = found.points["tray"].model_copy(update={"name": HOSTILE})
    return found.model_copy(update={
        "title": HOSTILE, "parts": {**found.parts, "fridge": part}, "points": {**found.points, "tray": point},
    })  # fmt: skip


@pytest.mark.parametrize("show", [svg_text, svg_slices])
def test_hostile_text_in_a_picture_is_text(show: object) -> None:
    text = show(picture_of(hostile()))  # type: ignore[operator]
    assert "<script" not in text
    assert "&lt;script&gt;" in text
    assert "49" not in re.findall(r">([^<]*alert[^<]*)<", text)[0]


def test_hostile_text_in_a_page_is_text() -> None:
    text = page(HOSTILE, markup("<p>{{ words }}</p>", words=HOSTILE))
    assert "<script" not in text
    assert text.count("&lt;script&gt;") == 2
    assert "default-src 'none'" in text


def test_draw_never_writes_over_a_file_unasked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "a.svg"
    file.write_text("mine")
    assert run(["draw", "crew_cab_tray", "-o", str(file)]) == 2
    assert file.read_text() == "mine"
    assert "exists already" in capsys.readouterr().err
    assert run(["draw", "crew_cab_tray", "-o", str(file), "--force"]) == 0
    assert file.read_text().startswith("<svg")


def test_card_of_the_owner_says_what_is_normal_and_when_to_stop(tmp_path: Path) -> None:
    file = tmp_path / "card.html"
    assert run(["report", JOB, "--html", str(file), "--card"]) == 0
    text = file.read_text()
    assert text.index("Stop and call") < text.index("volts at the house battery")
    assert len(re.findall(r"[0-9.]+ to [0-9.]+ V", text)) == 4


@pytest.mark.parametrize("option", ["--statement", "--card", "--force"])
def test_page_options_without_html_are_refused(option: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["report", JOB, option]) == 2
    assert "--html" in capsys.readouterr().err

"""The survey sheet: one page at every width, with every question, every blank and the photos."""

from __future__ import annotations

import pytest

from diagnose.present.survey_sheet import sheet_lines
from diagnose.store.survey import load_survey

ONE_PAGE = 66  # lines of a sheet of A4 at six lines an inch, margins taken off


@pytest.mark.parametrize("width", [20, 60, 72, 80, 200])
def test_the_sheet_fits_one_page(width: int) -> None:
    lines = sheet_lines(load_survey(), width)
    assert len(lines) <= ONE_PAGE
    assert max(map(len, lines)) <= min(max(width, 60), 80)


def test_the_sheet_asks_what_the_dialogue_asks() -> None:
    survey = load_survey()
    sheet = " ".join(" ".join(sheet_lines(survey)).split())
    for topic in survey.topics:
        assert topic.asks in sheet
    for photo in survey.photos:
        assert f"[ ] {photo}" in sheet
    for choices in survey.choices.values():
        for word in choices:
            assert f"[ ] {word}" in sheet

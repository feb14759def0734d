"""The pictures of README.md show what the real program prints, fetch nothing, and README.md shows them."""

from __future__ import annotations

import re

import pytest

from tests.house.documents import read
from tests.house.pictures import CUT, FOLDER, STORIES, Story, picture, printed, shown, words_of


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name)
@pytest.mark.slow
def test_a_picture_shows_what_the_program_prints(story: Story) -> None:
    lines = shown(story, printed(story.command))
    kept = (FOLDER / f"{story.name}.svg").read_text(encoding="utf-8")
    # How it is drawn is the business of the library; the words are the program's.
    again = "python -m tests.house.pictures draws them anew"
    assert words_of(kept) == words_of(picture(story, lines)), again
    words = " ".join(" ".join(lines).split())
    assert " ".join(words for words in words_of(kept) if words) == words, again


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name)
def test_a_picture_is_small_and_fetches_nothing(story: Story) -> None:
    kept = (FOLDER / f"{story.name}.svg").read_text(encoding="utf-8")
    assert len(kept) < 100_000
    assert re.findall(r"[a-z]+://[^\"]*", kept) == ["http://www.w3.org/2000/svg"]
    assert not re.search(r"@import|@font-face|<script|<image|href|url\((?!#)", kept)


def test_the_readme_shows_each_picture_and_its_command() -> None:
    readme = read("README.md")
    assert {file.stem for file in FOLDER.iterdir()} == {story.name for story in STORIES}
    for story in STORIES:
        assert readme.count(f"(cases/examples/pictures/{story.name}.svg)") == 1
        assert f".venv/bin/{story.command}\n" in readme


def test_a_stretch_that_is_gone_is_said() -> None:
    story = Story("x", "diagnose", (("b", "c"), ("e", "e")))
    assert shown(story, list("abcdef"))[2:] == [CUT, "b", "c", CUT, "e", CUT]
    with pytest.raises(ValueError, match="no line begins with `e`"):
        shown(story, list("abc"))

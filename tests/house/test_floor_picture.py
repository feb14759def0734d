"""The picture of the floors in DEVELOPERS.md is the one that the imports of the code draw."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.house.documents import read
from tests.house.floor_picture import drawn, redrawn


def test_the_picture_of_the_floors_is_drawn_from_the_code() -> None:
    text = read("DEVELOPERS.md")
    assert redrawn(text) == text, "python -m tests.house.floor_picture draws it anew"


def test_a_picture_has_each_folder_and_each_way_that_does_not_follow(tmp_path: Path) -> None:
    files = {
        "basics/a.py": "", "model/b.py": "from x.basics import a",
        "circuit/c.py": "from x.model import b\nfrom x.basics import a\nimport json",
    }  # fmt: skip
    for name, text in files.items():
        (tmp_path / "x" / name).parent.mkdir(parents=True)
        (tmp_path / "x" / name).write_text(text)
    lines = [line.strip() for line in drawn(tmp_path / "x").splitlines()]
    assert [line for line in lines if "-->" in line] == ["circuit --> model", "model --> basics"]
    assert lines[lines.index("subgraph floor2[floor 2]") + 1] == "circuit"


@pytest.mark.parametrize("text", ["", "```mermaid\nflowchart TD\n```\n" * 2])
def test_a_document_without_one_picture_is_left_alone(text: str) -> None:
    with pytest.raises(ValueError, match="wants one picture"):
        redrawn(text)

"""The bench writes its table where it belongs; what it measures is printed and never asserted."""

from __future__ import annotations

from importlib import import_module

import pytest

from tests.bench.table import BEGIN, END, rewritten
from tests.house.documents import ROOT, read

PARTS = sorted(file.stem for file in (ROOT / "tests" / "bench").glob("bench_*.py"))
DOCUMENT = f"""above

{BEGIN}
| part | what | figure | floor |
|---|---|---|---|
| a | x | 1 s | 2 s |
| b | y | 3 |  |
{END}
below
"""


def test_rows_are_replaced_part_by_part() -> None:
    again = rewritten(DOCUMENT, {"a": [("x", "5 s", "2 s"), ("z", "1", "")]}, ["a", "b"])
    assert again == DOCUMENT.replace("| a | x | 1 s | 2 s |", "| a | x | 5 s | 2 s |\n| a | z | 1 |  |")
    assert rewritten(again, {}, ["a", "b"]) == again
    assert rewritten(DOCUMENT, {"a": []}, ["a"]).count("\n|") == 2


@pytest.mark.parametrize("text", ["", BEGIN, END + BEGIN, BEGIN + END + END])
def test_a_document_without_its_markers_is_left_alone(text: str) -> None:
    with pytest.raises(ValueError, match="the table wants"):
        rewritten(text, {}, [])


def test_the_document_has_the_table() -> None:
    parts = [name.removeprefix("bench_") for name in PARTS]
    assert rewritten(read("DEVELOPERS.md"), {}, parts) == read("DEVELOPERS.md")


@pytest.mark.parametrize("part", PARTS)
def test_every_part_offers_figures(part: str) -> None:
    assert callable(import_module(f"tests.bench.{part}").figures)

"""Any record over any document: errors of the form become placed problems with advice."""

from __future__ import annotations

from typing import Annotated, Literal

import pytest
from pydantic import Field

from diagnose.basics.errors import BadInput
from diagnose.model.fields import Line, Record
from diagnose.store.validation import validated
from diagnose.store.yaml_text import yaml_document


class Inner(Record):
    style: Literal["plain", "fancy"]
    count: Annotated[int, Field(strict=True, ge=1, le=9)] = 1


class Outer(Record):
    title: Line
    inner: tuple[Inner, ...] = ()
    some: Annotated[tuple[Inner, ...], Field(min_length=1)] | None = None
    by_name: dict[str, Inner] = Field(default_factory=dict)
    share: Annotated[float, Field(strict=True, gt=0, lt=1)] | None = None


def said(text: str) -> list[str]:
    with pytest.raises(BadInput) as raised:
        validated(Outer, yaml_document(text, "f"))
    return [problem.text() for problem in raised.value.problems]


def test_right() -> None:
    outer = validated(Outer, yaml_document("title: x\ninner: [{style: plain, count: 3}]\nshare: null\n", "f"))
    assert outer.inner[0].count == 3


@pytest.mark.parametrize(
    ("text", "messages"),
    [
        ("inner: []\n", ["f:1:1: `title` is missing, write `title:` with text"]),
        ("title: x\ntitel: y\n", ["f:2:1: unknown key `titel`, did you mean title?"]),
        ("title: x\nzzz: y\n", ["f:2:1: unknown key `zzz`, known here are title, inner, some, by_name, share"]),
        ("title: ''\n", ["f:1:8: `title` is empty, write text"]),
        ("title: [x]\n", ["f:1:8: a list is no title, write text"]),
        ("title: x\ninner: {}\n", ["f:2:8: a mapping is no inner, write a list"]),
        (
            "title: x\ninner:\n  - {style: plian}\n  - {count: 0}\n  - {style: fancy, count: 99}\n  - fancy\n",
            [
                "f:3:13: `plian` is no style, did you mean plain?",
                "f:4:5: `style` is missing, write `style:` with one of plain, fancy",
                "f:4:13: `0` is out of range, `count` must be at least 1",
                "f:5:27: `99` is out of range, `count` must be at most 9",
                "f:6:5: `fancy` is no inner, write a mapping of keys and values",
            ],
        ),
        ("title: x\nby_name: {a: {style: odd}}\n", ["f:2:22: `odd` is no style, write one of plain, fancy"]),
        ("title: x\nby_name: {a: {stile: plain}}\n", [
            "f:2:11: `style` is missing, write `style:` with one of plain, fancy",
            "f:2:15: unknown key `stile`, did you mean style?",
        ]),
        ("title: x\nsome: []\n", ["f:2:7: `some` is empty, write a list of at least one"]),
        ("title: x\nsome: [{style: odd}]\n", ["f:2:16: `odd` is no style, write one of plain, fancy"]),
        ("title: x\nshare: 1.5\n", ["f:2:8: `1.5` is out of range, `share` must be below 1"]),
        ("title: x\nshare: half\n", ["f:2:8: `half` is no share, write a number"]),
        ("title: x\ntitle: y\nshare: true\n", [
            "f:2:1: `title` is written twice, keep one, the first is in line 1",
            "f:3:8: true is no share, write a number",
        ]),
        ("- x\n", ["f:1:1: a list is not the form of this file, write a mapping of keys and values"]),
        ("title: &a x\n", ["f:1:8: an anchor `&a`, write the value without it"]),
    ],
)
def test_wrong(text: str, messages: list[str]) -> None:
    assert said(text) == messages

"""YAML from strangers: narrow, placed, and never a crash."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.basics.errors import BadInput
from diagnose.store.yaml_text import LARGEST, Document, read_yaml, yaml_document


def texts(document: Document) -> list[str]:
    return [problem.text() for problem in document.problems]


def refused(content: str | bytes) -> list[str]:
    with pytest.raises(BadInput) as raised:
        yaml_document(content, "f")
    return [problem.text() for problem in raised.value.problems]


def test_only_true_false_null_and_decimal_numbers_are_more_than_text() -> None:
    content = (
        "a: on\nb: off\nc: yes\nd: no\ne: 12:30\nf: 010\ng: 0x10\nh: 1_000\ni: 2024-01-31\nj: .nan\nk: -.inf\n"
        "l: 1e999\nm: True\nn: y\no: '12'\np: 12\nq: -1.50\nr: 1.2e3\ns: true\nt: false\nu: null\nv: ~\nw:\nx: +7\n"
    )
    data = yaml_document(content, "f").data
    words = {key: value for key, value in data.items() if key <= "o"}
    assert all(isinstance(value, str) for value in words.values())
    assert words["f"] == "010"
    assert [data[key] for key in "pqrstuvwx"] == [12, -1.5, 1200.0, True, False, None, None, None, 7]
    assert data["s"] is True


def test_keys_are_text() -> None:
    assert yaml_document("on: 1\n12: 2\ntrue: 3\nnull: 4\n", "f").data == {"on": 1, "12": 2, "true": 3, "null": 4}


def test_places_of_values_keys_and_raw_text() -> None:
    document = yaml_document("a: {b: [x, 1.10]}\nc:\n  d: y\n", "f")
    assert document.place(("a", "b", 1)) == (1, 12)
    assert document.key_place(("a", "b")) == (1, 5)
    assert document.key_place(("c",)) == (2, 1)
    assert document.place(("c", "d")) == (3, 6)
    assert document.place(("a", "kind", "b", 0)) == (1, 9)  # a step that is not written is passed over
    assert document.place(("nowhere",)) == (1, 1)
    assert document.raw[("a", "b", 1)] == "1.10"


def test_everything_refused_is_said_at_once_and_the_rest_is_read() -> None:
    content = (
        "a: 1\n"
        "a: {b: 2}\n"
        "c: &x 1\n"
        "d: *x\n"
        "e: !!python/object:os.system x\n"
        "<<: {f: 1}\n"
        "? [1, 2]\n"
        ": 3\n"
        "g: {h: 1, h: {i: 2}, j: 3}\n"
        "k: \"\\e[31m\"\n"
    )
    document = yaml_document(content, "f")
    assert texts(document) == [
        "f:2:1: `a` is written twice, keep one, the first is in line 1",
        "f:3:4: an anchor `&x`, write the value without it",
        "f:4:4: an alias `*x`, write the value out",
        "f:5:4: a tag `tag:yaml.org,2002:python/object:os.system`, write the value without it",
        "f:6:1: a merge key `<<`, write the keys out",
        "f:7:3: a key that is no word, write a word followed by a colon",
        "f:9:11: `h` is written twice, keep one, the first is in line 9",
        "f:10:4: a control character '\\x1b', write plain text",
    ]
    assert document.data["g"] == {"h": 1, "j": 3}


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "f: the file is empty, write at least one key"),
        ("# nothing\n", "f: the file is empty, write at least one key"),
        ("a: 1\n---\nb: 2\n", "f:2:1: a second document begins here, keep one document a file"),
        ("a: [1\n", "f:2:1: cannot be read as YAML: did not find expected ',' or ']', check the brackets, quotes, "
         "colons and the indentation here and just before"),
        ("a:\n\tb: 1\n", "f:2:1: cannot be read as YAML: found character that cannot start any token, indent with "
         "spaces instead of tabs, and put text that begins with a special character in quotes"),
        ("a: x\x1b[31m\n", "f:1:5: a control character '\\x1b', take it out"),
        ("a: x\u202ey\n", "f:1:5: a control character '\\u202e', take it out"),
        ("a: 1\r\nb: \x85\n", "f:2:4: a control character '\\x85', take it out"),
        (b"a: 1\nb: \xff\n", "f:2:4: bytes that are no UTF-8 text, save the file as UTF-8 text"),
        (b"\xff\xfea\x00", "f:1:1: bytes that are no UTF-8 text, save the file as UTF-8 text"),
        ("[" * 30, "f:1:21: nested more than 20 deep, the forms need far less, look for a stray bracket"),
        ("x" * (LARGEST + 1),
         "f: the file is over 1 MiB, an installation or a set of readings takes a few kilobytes"),
    ],
)
def test_whole_files_refused(content: str | bytes, message: str) -> None:
    assert refused(content) == [message]


def test_twenty_levels_are_read() -> None:
    assert not yaml_document("[" * 20 + "]" * 20, "f").problems


@pytest.mark.parametrize(
    "content",
    [
        "[" * 1_000_000,
        "- " * 500_000,
        "{a: " * 200_000,
        "a: &a [" + "x," * 100_000 + "]\nb: [" + "*a," * 100_000 + "]\n",
        "? " * 300_000,
        "'" + "x" * 1_000_000,
        "a: " + "9" * 1_000_000,
        "a: " + "1," * 500_000,
    ],
)
def test_hostile_input_ends_soon(content: str) -> None:
    began = time.monotonic()
    try:
        document: Document | None = yaml_document(content, "f")
    except BadInput:
        document = None
    assert time.monotonic() - began < 10
    assert document is None or document.name == "f"


@given(st.text(max_size=200) | st.text("{}[]:,-? \n'\"&*!|>#%@ab1.", max_size=200))
@settings(max_examples=500, derandomize=True, deadline=None)
def test_any_text_is_a_document_or_a_refusal(content: str) -> None:
    try:
        document = yaml_document(content, "f")
    except BadInput as error:
        problems = error.problems
    else:
        problems = document.problems
    assert all(problem.text().startswith("f") for problem in problems)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    none = tmp_path / "none.yaml"
    for path, what in ((none, "there is no such file"), (tmp_path, "this is a folder"), ("a\0b", "cannot be read")):
        with pytest.raises(BadInput, match=what):
            read_yaml(path)


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\n")
    assert read_yaml(path).data == {"a": 1}

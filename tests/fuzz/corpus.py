"""The kept corpus: one file a broken or hostile input, in a folder named after its form; never edited, only added to.

The endings say nothing to editors and checkers of text, because many of the files are no text.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from diagnose.store.jobs_record import line_of
from tests.fuzz.harness import Call
from tests.fuzz.inputs import EVENTS, FORMS, STEPS, TYPED

__all__ = ["ENDING", "corpus"]

ENDING = ".bad"
FOLDER = Path(__file__).with_name("corpus")
#: the forms that are no YAML file: how the program is called with one
OTHERS: dict[str, tuple[str, tuple[tuple[str, ...], ...]]] = {
    "job": ("a-1.jsonl", (("load:job",), ("report", "./a-1.jsonl"), ("jobs", "--jobs", "."))),
    "events": ("a-1.jsonl", (("load:job",), ("report", "./a-1.jsonl"), ("walk", "--resume", "./a-1.jsonl"))),
    "steps": ("a-1.jsonl", (("load:job",), ("report", "./a-1.jsonl"), ("jobs", "--jobs", "."))),
    "progress": ("p/kim-1.jsonl", (("progress", "kim", "--progress", "p"),)),
    "result": ("r.json", (("load:result",), ("progress", "--results", "./r.json", "--word", "word"))),
    "survey_answers": ("a.txt", (("new", "out.yaml", "--answers", "./a.txt"),)),
    "acts": ("a.txt", (("practice", "sun-fuse-01", "--answers", "./a.txt"),)),
    "rules": ("own/faults/blown.yaml", (("lint", "--rules", "own"),)),
}


def corpus() -> tuple[Call, ...]:
    """Return the calls of the whole corpus."""
    found: list[Call] = []
    for path in sorted(FOLDER.glob(f"*/*{ENDING}")):
        found += _calls(path.parent.name, path.read_bytes())
    return tuple(found)


def _calls(form: str, content: bytes) -> list[Call]:
    if form.startswith("typed_"):
        prompt = form.removeprefix("typed_")
        typed = content.decode("utf-8", "surrogateescape")
        return [Call(f"typed:{prompt}", TYPED[prompt][0], typed=typed, may_write=("out.yaml",))]
    name, commands = OTHERS.get(form, ("f.yaml", ()))
    if form in FORMS:
        name, commands = FORMS[form][1] or name, ((f"load:{form}",), *FORMS[form][2][:1])
    if form in ("events", "steps"):
        # Lines of events, written as a record writes them: its sums are right, what they say is not.
        lines, whole = content.decode("utf-8").splitlines(), STEPS if form == "steps" else EVENTS
        content = b"".join(line_of(n, _data(line, whole)) for n, line in enumerate(lines))
    named = [tuple(f"./{name}" if word == "FILE" else word for word in words) for words in commands]
    may_write = ("out.yaml", "out.svg", *(("a-1.jsonl",) if name == "a-1.jsonl" else ()))
    typed = "stop\n" if form in ("events", "survey_answers", "acts") else ""
    return [Call(form, words, ((name, content),), typed=typed, may_write=may_write) for words in named]


def _data(line: str, whole: Sequence[object]) -> object:
    """Return the event of a line: one written out, or the number of one of the sound record."""
    if line.isdecimal():
        return whole[int(line)]
    return json.loads(line)

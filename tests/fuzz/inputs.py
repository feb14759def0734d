"""Strategies for calls of the program: mutated files of every form, typed lines at every prompt, command lines."""

from __future__ import annotations

import json
import shlex
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import typer
import yaml
from hypothesis import strategies as st

from diagnose.cli.main import app
from diagnose.store.jobs_record import line_of
from tests.fuzz.doors import LAYOUT
from tests.fuzz.harness import Call
from tests.fuzz.mutations import NASTY, VALUES, WAYS, Edit, broken

__all__ = ["COMMAND_LINE", "FORMS", "TYPED", "calls", "command_lines", "files", "jobs", "typed_lines"]

ROOT = Path(__file__).resolve().parents[2]
_NUMBER = st.integers(0, 60_000)


def _edit(number: int) -> Edit:
    """Return the edit that one whole number stands for: one draw where four would take four times as long."""
    rest, way = divmod(number, len(WAYS))
    rest, at = divmod(rest, 65_521)
    other, what = divmod(rest, 509)
    return WAYS[way], at, what, other


_EDIT = st.integers(0, 2**42).map(_edit)
_EDITS = st.lists(_EDIT, min_size=1, max_size=5)
#: names that a file may well have
_NAMES = st.sampled_from(
    ["f.yaml"] * 12 + ["a b.yaml", "\x1b[2J.yaml", "\u202eelif.yaml", "-x.yaml", "é.yaml", "x,y: z.yaml", "%s{0}.yaml"]
)

#: of each form: the valid files to begin with, the name it needs if any, and the commands that read it
FORMS: dict[str, tuple[str, str | None, tuple[tuple[str, ...], ...]]] = {
    "installation": (
        "rules/layouts/*.yaml",
        None,
        (
            ("check", "FILE"),
            ("draw", "FILE", "-o", "out.svg"),
            ("check", "FILE", "--build-sheet", "--json"),
            ("expect", "FILE", "house_pos", "house_neg"),
            ("rank", "FILE", "--readings", "FILE"),
        ),
    ),
    "readings": (
        "",
        None,
        (
            ("expect", LAYOUT, "--readings", "FILE", "--json"),
            ("rank", "nothing.yaml", "--readings", "FILE"),
        ),
    ),
    "expected": ("", None, ()),
    "practice": (
        "cases/practice/*.yaml",
        None,
        (("cases", "check", "FILE"), ("cases", "check", "sun-fuse-01", "FILE")),
    ),
    "worked": ("cases/worked/*.yaml", None, ()),
    "script_words": ("rules/scripts/cards.yaml", "scripts/cards.yaml", ()),
    "unknowns": ("rules/scripts/unknowns.yaml", "scripts/unknowns.yaml", ()),
    "survey": ("rules/survey.yaml", "survey.yaml", ()),
    "textbook": ("rules/textbook_order.yaml", "textbook_order.yaml", ()),
    "fault_rule": ("rules/faults/*.yaml", "faults/mine.yaml", ()),
    "cause_rule": ("rules/causes/*.yaml", "causes/mine.yaml", ()),
    "test_rule": ("rules/tests/*.yaml", "tests/mine.yaml", ()),
    "complaint_rule": ("rules/complaints/*.yaml", "complaints/mine.yaml", ()),
    "step_rule": ("rules/commissioning/*.yaml", "commissioning/mine.yaml", ()),
    "caution_rule": ("rules/cautions/*.yaml", "cautions/mine.yaml", ()),
}


@cache
def _seeds(form: str) -> tuple[str, ...]:
    """Return the valid texts of a form."""
    pattern = FORMS[form][0]
    if pattern:
        return tuple(path.read_text(encoding="utf-8") for path in sorted(ROOT.glob(pattern)))
    found = []
    for path in sorted(ROOT.glob("cases/worked/sun_*.yaml")):
        data = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
        if data["installation"] == LAYOUT:
            kept = {key: data[key] for key in ("complaint", "readings")}
            found.append(yaml.safe_dump(kept, default_flow_style=None, width=200))
    return tuple(found)


def files(form: str, whole: bool = False) -> st.SearchStrategy[Call]:
    """Return calls on mutated files of a form: through its loader, or with `whole` through a command."""
    _, needed, commands = FORMS[form]

    def made(seed: str, edits: list[Edit], name: str, command: tuple[str, ...]) -> Call:
        name = needed or name
        content = broken(seed, edits)
        words = tuple(f"./{name}" if word == "FILE" else word for word in command)
        plain = name.isascii() and name.isprintable()
        return Call(
            form, words, ((name, content),), may_write=("out.svg",), placed=plain and words[0].startswith("load:")
        )

    chosen = st.sampled_from(commands) if whole and commands else st.just((f"load:{form}",))
    return st.builds(made, st.sampled_from(_seeds(form)), _EDITS, _NAMES, chosen)


_DATA: dict[str, Any] = json.loads(Path(__file__).with_name("pieces.json").read_text(encoding="utf-8"))
#: the record of a walk, and of a commissioning, on the smallest layout
EVENTS: tuple[dict[str, Any], ...] = tuple(_DATA["events"])
STEPS: tuple[dict[str, Any], ...] = tuple(_DATA["commissioning"])
_TAKES, _READS, _MENDED = (tuple(_DATA[name]) for name in ("takes", "reads", "repairs"))
_TRAVERSED = st.lists(
    st.tuples(
        _NUMBER, _NUMBER, st.sampled_from(["value", "drop", "event", "twice", "nasty", "take", "read", "mended"])
    ),
    min_size=1,
    max_size=4,
)


def _record(whole: tuple[dict[str, Any], ...], edits: list[tuple[int, int, str]], torn: int) -> bytes:
    """Return a record whose lines are sound but whose events are not; `torn`, how many bytes are cut off its end."""
    events: list[Any] = json.loads(json.dumps(whole))
    for at, what, way in edits:
        if way in ("event", "twice") or not events:
            event = VALUES[what % len(VALUES)] if way == "event" else events[what % len(events)] if events else None
            events.insert(at % (len(events) + 1), json.loads(json.dumps(event)))
            continue
        if way in ("take", "read", "mended"):
            events.insert(7 + at % 2, _reading(what, way))
            continue
        event = events[at % len(events)]
        if isinstance(event, dict) and event:
            owner, key = event, list(event)[what % len(event)]
            if isinstance(owner[key], dict) and owner[key] and at % 2:
                owner, key = owner[key], list(owner[key])[what % len(owner[key])]
            if way == "drop":
                del owner[key]
            else:
                # a copy: a further edit inside it must change neither the list drawn from nor make it hold itself
                pool = NASTY if way == "nasty" else VALUES
                owner[key] = deepcopy(pool[(at + what) % len(pool)])
    text = b"".join(line_of(number, event) for number, event in enumerate(events))
    return text[: len(text) - torn] if torn < 40 else text


def _reading(what: int, way: str) -> dict[str, Any]:
    """Return a reading with a test or a value that is none, or a repair of what is not there."""
    event: dict[str, Any] = json.loads(json.dumps(EVENTS[7]))
    if way == "mended":
        return {"kind": ("repaired", "leave")[what % 2], "fault": _MENDED[what // 2 % len(_MENDED)], "state": "test"}
    if way == "take":
        event["take"].update(_TAKES[what % len(_TAKES)])
    else:
        event["read"].update(_READS[what % len(_READS)])
    return event


def jobs(whole: bool = False) -> st.SearchStrategy[Call]:
    """Return calls on job records whose sums are right but whose events are anything."""
    name = "a-1.jsonl"
    commands = [
        ("report", f"./{name}"),
        ("report", f"./{name}", "--html", "out.html"),
        ("jobs", "--jobs", "."),
        ("walk", "--resume", f"./{name}"),
        ("commission", "--resume", f"./{name}", "--json"),
        ("compare", f"./{name}", f"./{name}"),
        ("report", f"./{name}", "--html", "out.html", "--card"),
        ("draw", LAYOUT, "--job", f"./{name}", "-o", "out.svg"),
    ]
    chosen = st.sampled_from(commands) if whole else st.just(("load:job",))
    return st.builds(
        lambda record, edits, torn, words: Call(
            "job", words, ((name, _record(record, edits, torn)),), may_write=("out.html", "out.svg", name)
        ),
        st.sampled_from((EVENTS, EVENTS, STEPS)),
        _TRAVERSED,
        st.integers(0, 200),
        chosen,
    )


#: the prompts: a command, and words that lead on to its next question
TYPED: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    name: (tuple(shlex.split(prompt["command"])), tuple(prompt["good"])) for name, prompt in _DATA["prompts"].items()
}


def typed_lines(prompt: str) -> st.SearchStrategy[Call]:
    """Return calls with up to twenty lines typed: right ones, hostile ones, and right ones that were broken."""
    words, good = TYPED[prompt]
    spoilt = st.builds(
        lambda line, edit: broken(line, [edit]).decode("utf-8", "surrogateescape").replace("\n", " "),
        st.sampled_from(good),
        _EDIT,
    )
    hostile = st.sampled_from(NASTY).map(lambda text: text.replace("\n", " ").replace("\ud800", "?"))
    line = st.one_of(
        st.sampled_from(good), spoilt, hostile, st.text(max_size=30).map(lambda t: t.encode("utf-8", "ignore").decode())
    )
    return st.builds(
        lambda lead, rest: Call(
            f"typed:{prompt}", words, typed="\n".join([*good[:lead], *rest, "stop"]) + "\n", may_write=("out.yaml",)
        ),
        st.integers(0, len(good)),
        st.lists(line, min_size=1, max_size=20),
    )


#: what would take minutes if it happened to be right
_SLOW = {
    "--deep",
    "--solve",
    "--readings",
    "--run",
    "--install-completion",
    "--show-completion",
    "--exam",
    "--answers",
    "--html",
}
COMMAND_LINE = "command line"


@cache
def _options() -> dict[str, tuple[str, ...]]:
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    return {
        name: tuple(
            option
            for parameter in command.params
            for option in parameter.opts
            if option.startswith("-") and option not in _SLOW
        )
        for name, command in commands.items()
    }


def command_lines() -> st.SearchStrategy[Call]:
    """Return calls of every command with options that belong elsewhere and values that are none."""
    value = st.one_of(
        st.sampled_from(NASTY), st.text(max_size=12), st.sampled_from([LAYOUT, "nothing.yaml", ".", "..", "./f.yaml"])
    )

    def made(command: str, pairs: list[tuple[int, str, int]], first: str) -> Call:
        options = _options()[command]
        words = [command, first]
        for at, text, way in pairs:
            option = options[at % len(options)] if options else "--plain"
            words += (
                [option, text] if way == 0 else [f"{option}={text}"] if way == 1 else [option] if way == 2 else [text]
            )
        # A command that is wholly right may take minutes: one word that no command takes ends it.
        words = [word.replace("\0", "") for word in words] + ["--no-such-option"]
        clean = tuple(word.encode("utf-8", "ignore").decode() for word in words)
        return Call(COMMAND_LINE, clean, (("f.yaml", b"title: x\n"),))

    return st.builds(
        made,
        st.sampled_from(sorted(_options())),
        st.lists(st.tuples(_NUMBER, value, st.integers(0, 3)), max_size=5),
        value,
    )


def calls(whole: bool) -> st.SearchStrategy[Call]:
    """Return calls of every kind: through loaders and quick commands, or with `whole` through those that compute."""
    if whole:
        return st.one_of(
            *[files(form, whole=True) for form in ("installation", "readings", "practice")],
            jobs(whole=True),
            *[typed_lines(prompt) for prompt in TYPED],
        )
    return st.one_of(*[files(form) for form in FORMS], jobs(), command_lines())

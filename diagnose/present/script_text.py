"""A phone script as text and as Markdown: the whole tree as numbered steps; it words bands and links, nothing else."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from diagnose.model.script import Answer, End, Question, Script

__all__ = ["card_lines", "end_lines", "script_lines", "script_markdown"]


def card_lines(question: Question, owner: bool, width: int) -> list[str]:
    """Return one card: cautions, how it is done, then what is asked, which staff say to an owner."""
    lines = [line for text in question.cautions for line in _wrapped(f"Caution: {text}", width, "  ")]
    lines += _wrapped(question.how, width)
    return [*lines, *(_wrapped(f'Say: "{question.say}"', width, "     ") if owner else _wrapped(question.say, width))]


def end_lines(end: End, owner: bool, width: int) -> list[str]:
    """Return an end: cautions and what is not done first, then what follows; what a visit costs, only to staff who talk
    with an owner.
    """
    lines = [line for text in end.cautions for line in _wrapped(f"Caution: {text}", width, "  ")]
    lines += _wrapped(f"{end.verdict.upper()} ({end.end}). {end.say}", width)
    for head, texts in _blocks(end, owner):
        lines += [line for text in texts for line in _wrapped(f"{head}: {text}", width, "  ")]
    return lines


def _blocks(end: End, owner: bool) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield what an end says, block by block: its head and its lines."""
    yield "Not safe", end.not_safe
    yield "Meanwhile", end.meanwhile
    yield "To the owner", end.tell
    if end.send:
        yield "Bring", end.bring
        yield "Take along", (", ".join(end.tools),)
        yield "Minutes expected", (f"{end.minutes:g}",)
        yield "Ask for photos of", (", ".join(end.photos),) if end.photos else ()
    if owner:
        yield "Cost", (end.costs.says,)


def script_lines(script: Script, width: int) -> list[str]:
    """Return the whole script as numbered steps."""
    lines = _wrapped(script.heading, width)
    lines += _wrapped(f"For the {'owner' if script.owner else 'installer'}, with {', '.join(script.tools)}.", width)
    lines += _wrapped(script.understood, width) if script.understood else []
    lines += [line for text in script.cautions for line in _wrapped(f"Caution: {text}", width, "  ")]
    lines += _wrapped(f"First: {script.first}", width, "  ")
    for name, step in script.steps.items():
        lines += ["", f"{name}."]
        if isinstance(step, End):
            lines += end_lines(step, script.owner, width)
        else:
            lines += card_lines(step, script.owner, width)
            lines += [line for a in step.answers for line in _wrapped(f"  {a.label}: go to {a.go}", width, "    ")]
    return lines


def script_markdown(script: Script) -> str:
    """Return the whole script as Markdown, answers as links."""
    lines = [f"# {script.heading}", "", *([script.understood, ""] if script.understood else [])]
    lines += [f"- **Caution:** {text}" for text in script.cautions]
    lines += [f"- First: {script.first}"]
    for name, step in script.steps.items():
        lines += ["", f'## <a id="{name}"></a>{name}', ""]
        lines += [f"- **Caution:** {text}" for text in step.cautions]
        if isinstance(step, End):
            lines += ["", f"**{step.verdict}** ({step.end}). {step.say}", ""]
            lines += [f"- {head}: {text}" for head, texts in _blocks(step, script.owner) for text in texts]
        else:
            lines += ["", step.how, "", f"**{step.say}**", "", *(_link(a) for a in step.answers)]
    return "\n".join(lines) + "\n"


def _link(answer: Answer) -> str:
    return f"- {answer.label}: [{answer.go}](#{answer.go})"


def _wrapped(text: str, width: int, hang: str = "") -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent=hang) or [""]

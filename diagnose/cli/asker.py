"""Asks questions and says things, one line at a time: the one place where the dialogue reads and writes.

Answers come from a terminal, from a pipe or from a list written beforehand; each question takes one line, so that the
end of the answers ends the dialogue and never loops. It must not know what a question means, and must not open a file.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from io import StringIO
from typing import Any, TextIO

from diagnose.basics.errors import printable

__all__ = ["WORDS", "Asker", "EndOfAnswers", "is_plain", "match_word", "open_asker", "possible_words"]

WORDS = ("help", "why", "how", "back", "cannot", "ranking", "stop")

_MARK = "> "
_LONGEST = 1000  # characters of an answer; a stream without line ends is not read to its end
_MOST_TRIES = 20  # refused answers to one question, so that an endless stream of them ends too
_NARROWEST = 60  # columns

Check = Callable[[str], object]
Complete = Callable[[str], Iterable[str]]


class EndOfAnswers(Exception):  # noqa: N818 - an event of the dialogue, not an error
    """No more answers: end of input, of the list of answers, or too many that were refused; the message says which."""


def possible_words(text: str, words: Iterable[str]) -> tuple[str, ...]:
    """Return the words that a text may stand for: itself, or each word that begins with it.

    >>> possible_words("h", WORDS), possible_words("Wrong set", ["wrong_setting"]), possible_words("", WORDS)
    (('help', 'how'), ('wrong_setting',), ())
    """
    folded = "_".join(text.casefold().replace("_", " ").replace("-", " ").split())
    known = tuple(dict.fromkeys(words))
    if not folded:
        return ()
    if folded in known:
        return (folded,)
    return tuple(word for word in known if word.startswith(folded))


def match_word(text: str, words: Iterable[str]) -> str | None:
    """Return the one word a text stands for, written out or shortened, or None where there is none or several.

    >>> match_word("rank", WORDS), match_word("h", WORDS), match_word("13.8", WORDS)
    ('ranking', None, None)
    """
    found = possible_words(text, words)
    return found[0] if len(found) == 1 else None


def is_plain(out: TextIO, environment: Mapping[str, str], columns: int) -> bool:
    """Return whether to do without colour, boxes and redrawing: not a terminal, a narrow one, or asked for.

    >>> is_plain(StringIO(), {}, 80)
    True
    """
    asked = bool(environment.get("NO_COLOR")) or environment.get("TERM") == "dumb"
    return asked or columns < _NARROWEST or not _is_terminal(out)


class Asker:
    """A dialogue: `say` tells, `ask` returns the next answer.

    Parameters: `source`, where the answers come from (None: nowhere); `out`, where the dialogue goes (None: nowhere);
    `plain`, whether to do without colour, boxes and redrawing. Answers are echoed unless a terminal shows them already.

    >>> asker = Asker(StringIO("13.8\\nst\\n"), sys.stdout, plain=True)
    >>> [asker.ask("Volts across the battery?"), asker.ask("And now?")]
    Volts across the battery?
    > 13.8
    And now?
    > st
    ['13.8', 'stop']
    """

    def __init__(self, source: TextIO | None, out: TextIO | None, plain: bool) -> None:
        self.plain = plain
        self._source = source
        self._out = out
        self._typed = _is_terminal(source) and _is_terminal(out)
        self._console: Any = None

    @property
    def at_terminal(self) -> bool:
        """Whether a person types the answers at a terminal."""
        return self._typed

    def say(self, text: str, style: str = "") -> None:
        """Write text, its control characters shown; `style` is how it looks where it may look like anything."""
        lines = "\n".join(printable(line) for line in text.split("\n"))
        if self._out is None:
            return
        if self.plain or not style:
            self._write(f"{lines}\n")
            return
        if self._console is None:
            from rich.console import Console

            self._console = Console(file=self._out, markup=False, highlight=False, emoji=False, soft_wrap=True)
        self._console.print(lines, style=style)

    def ask(
        self,
        prompt: str,
        words: Sequence[str] = WORDS,
        check: Check | None = None,
        complete: Complete | None = None,
        blank: bool = False,
    ) -> str:
        """Return the answer to one question: one of `words`, written out, or else the text as typed.

        Parameters: `prompt`, the question; `words`, the plain words it takes, also shortened; `check`, called with an
        answer that is no word: the ValueError it raises is told and the question asked again; `complete`, returns the
        whole answers that a beginning may grow into, at a terminal (the words where it is None); `blank`, whether an
        empty answer is one too, because something is offered for it.
        Returns: the answer without the blanks around it, its control characters shown as escapes.
        Raises: EndOfAnswers; KeyboardInterrupt where the person breaks off.
        """
        self.say(prompt, style="bold")
        for _ in range(_MOST_TRIES):
            text = self._next(complete or _completion_of(words))
            found = possible_words(text, words)
            if len(found) == 1:
                return found[0]
            if blank and not text:
                return text
            refusal = _refusal(text, found, words, check)
            if refusal is None:
                return text
            self.say(refusal)
        raise EndOfAnswers(f"{_MOST_TRIES} answers to one question were refused")

    def _next(self, complete: Complete) -> str:
        if self._typed and not self.plain and self._source is sys.stdin and self._out is sys.stdout:
            line = self._edited(complete)
        else:
            self._write(_MARK)
            line = self._read()
        # A mark of byte order comes with some pipes; it is no part of the first answer.
        text = printable(line.removeprefix("\ufeff").replace("\t", " ").strip(" \r\n"))
        if not self._typed:
            self._write(f"{text}\n")
        return text

    def _edited(self, complete: Complete) -> str:
        """Read a line that can be edited and completed while it is typed."""
        _prepare_editing(complete)
        try:
            return input(_MARK)
        except (EOFError, OSError):
            self._write("\n")
            raise EndOfAnswers("the input ended") from None

    def _read(self) -> str:
        try:
            line = "" if self._source is None else self._source.readline(_LONGEST + 1)
        except (OSError, ValueError):  # the terminal has gone, or the stream was closed
            line = ""
        if not line or (len(line) > _LONGEST and not line.endswith("\n")):
            self._write("\n")
            raise EndOfAnswers(f"an answer is longer than {_LONGEST} characters" if line else "the input ended")
        return line

    def _write(self, text: str) -> None:
        if self._out is not None:
            self._out.write(text)
            self._out.flush()


def open_asker(plain: bool = False, answers: str | None = None, out: TextIO | None = None) -> Asker:
    """Return the asker for this process.

    Parameters: `plain`, whether plainness was asked for; `answers`, the text of a list of answers, one a line, which
    then are the only ones; `out`, where the dialogue goes (standard output; another where that is kept for JSON).
    """
    out = sys.stdout if out is None else out
    source: TextIO | None = sys.stdin if answers is None else StringIO(answers)
    for stream in (source, out):
        # What is not text in this encoding is shown as an escape: no answer and no name may end the dialogue.
        if (reconfigure := getattr(stream, "reconfigure", None)) is not None:
            reconfigure(errors="surrogateescape" if stream is source else "backslashreplace")
    return Asker(source, out, plain or is_plain(out, os.environ, shutil.get_terminal_size().columns))


def _refusal(text: str, found: Sequence[str], words: Sequence[str], check: Check | None) -> str | None:
    """Return why an answer that is no word cannot be taken, and what would be right."""
    if found:
        return f"`{text}` may mean {' or '.join(found)}, type more of it"
    if not text:
        return f"nothing was typed, give an answer or a word: {', '.join(words)}"
    if check is not None:
        try:
            check(text)
        except ValueError as error:
            return str(error)
    return None


def _completion_of(words: Sequence[str]) -> Complete:
    return lambda text: possible_words(text, words) if text.strip() else tuple(words)


def _prepare_editing(complete: Complete) -> None:
    """Make the standard line editor complete whole answers, where there is one."""
    try:
        import readline
    except ImportError:
        return

    def completer(text: str, state: int) -> str | None:
        return next(iter(list(complete(text))[state : state + 1]), None)

    readline.set_completer(completer)
    readline.set_completer_delims("")
    old_editor = "libedit" in (readline.__doc__ or "")
    readline.parse_and_bind("bind ^I rl_complete" if old_editor else "tab: complete")
    if not old_editor:
        # Several pasted lines are several answers, here as in a pipe.
        readline.parse_and_bind("set enable-bracketed-paste off")


def _is_terminal(stream: TextIO | None) -> bool:
    try:
        return stream is not None and stream.isatty()
    except ValueError:  # closed
        return False

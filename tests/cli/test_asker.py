"""The asker reads one line a question, ends when the answers end, and obeys nothing that an answer contains."""

from __future__ import annotations

import sys
from io import StringIO

import pytest

from diagnose.cli.asker import WORDS, Asker, EndOfAnswers, is_plain, match_word, open_asker, possible_words


class Terminal(StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def asked(answers: str) -> tuple[Asker, StringIO]:
    out = StringIO()
    return Asker(StringIO(answers), out, plain=True), out


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("stop", "stop"),
        ("s", "stop"),
        ("  CANN ", "cannot"),
        ("help", "help"),
        ("h", None),  # help or how
        ("", None),
        (" ", None),
        ("stops", None),
        ("13.8", None),
    ],
)
def test_a_word_may_be_shortened_while_it_is_unambiguous(text: str, word: str | None) -> None:
    assert match_word(text, WORDS) == word


def test_a_whole_word_wins_over_a_longer_one_and_a_repeated_word_is_one() -> None:
    assert possible_words("no", ["no", "none"]) == ("no",)
    assert match_word("ba", ["back", "back"]) == "back"


@pytest.mark.parametrize("text", ["wrong_setting", "wrong setting", "Wrong-Set"])
def test_a_word_of_two_parts_is_known_however_they_are_joined(text: str) -> None:
    assert match_word(text, ["wrong_setting", "wrong_rating"]) == "wrong_setting"


def test_answers_are_echoed_so_that_a_transcript_reads_well() -> None:
    asker, out = asked("13.8 V\nst\n")
    assert [asker.ask("Volts?"), asker.ask("And now?")] == ["13.8 V", "stop"]
    assert out.getvalue() == "Volts?\n> 13.8 V\nAnd now?\n> st\n"


def test_a_last_line_without_an_end_is_an_answer() -> None:
    assert asked("13.8")[0].ask("Volts?") == "13.8"


def test_blanks_line_ends_of_other_systems_and_a_mark_of_byte_order_are_no_part_of_an_answer() -> None:
    asker, _ = asked("\ufeff 13.8\tV \r\n")
    assert asker.ask("Volts?") == "13.8 V"


@pytest.mark.parametrize("source", [StringIO(""), None])
def test_the_end_of_the_answers_is_told_each_time(source: StringIO | None) -> None:
    asker = Asker(source, StringIO(), plain=True)
    for _ in range(3):
        with pytest.raises(EndOfAnswers, match="the input ended"):
            asker.ask("Volts?")


def test_a_closed_input_is_an_end() -> None:
    closed = StringIO("13.8\n")
    closed.close()
    with pytest.raises(EndOfAnswers):
        Asker(closed, StringIO(), plain=True).ask("Volts?")


def test_a_terminal_that_went_away_is_an_end() -> None:
    class Gone(StringIO):
        def readline(self, size: int | None = -1, /) -> str:
            raise OSError(5, "Input/output error")

    with pytest.raises(EndOfAnswers):
        Asker(Gone(), StringIO(), plain=True).ask("Volts?")


def test_an_interrupt_passes_through() -> None:
    class Interrupted(StringIO):
        def readline(self, size: int | None = -1, /) -> str:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        Asker(Interrupted(), StringIO(), plain=True).ask("Volts?")


def test_an_ambiguous_or_empty_answer_is_asked_again() -> None:
    asker, out = asked("h\n\nhow\n")
    assert asker.ask("Volts?") == "how"
    assert "`h` may mean help or how, type more of it\n" in out.getvalue()
    assert "nothing was typed, give an answer or a word: help, why" in out.getvalue()
    assert out.getvalue().count("> ") == 3


def test_what_the_check_refuses_is_told_and_asked_again_but_a_word_is_not_checked() -> None:
    asker, out = asked("lots\n13.8\nback\n")
    assert asker.ask("Volts?", check=float) == "13.8"
    assert "could not convert string to float: 'lots'\n" in out.getvalue()
    assert asker.ask("Volts?", check=float) == "back"


def test_an_error_in_the_check_itself_is_not_swallowed() -> None:
    def broken(text: str) -> object:
        raise KeyError(text)

    with pytest.raises(KeyError):
        asked("13.8\n")[0].ask("Volts?", check=broken)


def test_an_endless_stream_of_refused_answers_ends() -> None:
    class Endless(StringIO):
        lines = 0

        def readline(self, size: int | None = -1, /) -> str:
            self.lines += 1
            assert self.lines < 1000
            return "\n"

    with pytest.raises(EndOfAnswers, match="refused"):
        Asker(Endless(), StringIO(), plain=True).ask("Volts?")


def test_an_answer_without_end_is_not_read_to_its_end() -> None:
    source = StringIO("1" * 100_000)
    with pytest.raises(EndOfAnswers, match="longer than 1000 characters"):
        Asker(source, StringIO(), plain=True).ask("Volts?")
    assert source.tell() < 2000


@pytest.mark.parametrize("sign", ["\x1b", "\x07", "\x08", "\x9b", "\u202e", "\x00"])
def test_control_characters_are_shown_and_never_obeyed(sign: str) -> None:
    asker, out = asked(f"13{sign}[2J.8\n")
    answer = asker.ask(f"Volts of {sign}?")
    asker.say(f"{sign} it is")
    assert sign not in answer
    assert "\\" in answer
    assert sign not in out.getvalue()


def test_lines_of_what_is_said_stay_lines() -> None:
    asker, out = asked("")
    asker.say("one\ntwo [bold]three[/bold]", style="bold")
    assert out.getvalue() == "one\ntwo [bold]three[/bold]\n"


def test_style_shows_only_where_it_may_and_markup_in_text_is_text() -> None:
    out = Terminal()
    Asker(StringIO(), out, plain=False).say("one [red]two[/red] :warning:")
    assert out.getvalue() == "one [red]two[/red] :warning:\n"


def test_without_output_nothing_fails() -> None:
    asker = Asker(StringIO("13.8\n"), None, plain=True)
    asker.say("hello")
    assert asker.ask("Volts?") == "13.8"


@pytest.mark.parametrize(
    ("environment", "columns", "plain"),
    [
        ({}, 80, False),
        ({}, 60, False),
        ({}, 59, True),
        ({"NO_COLOR": "1"}, 80, True),
        ({"NO_COLOR": ""}, 80, False),  # set but empty asks for nothing, as the published convention has it
        ({"TERM": "dumb"}, 80, True),
        ({"TERM": "xterm"}, 80, False),
    ],
)
def test_plain_is_asked_for_or_forced_by_the_terminal(environment: dict[str, str], columns: int, plain: bool) -> None:
    assert is_plain(Terminal(), environment, columns) is plain
    assert is_plain(StringIO(), environment, columns)


def test_a_list_of_answers_is_the_only_source(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", StringIO("from the keyboard\n"))
    out = StringIO()
    asker = open_asker(answers="from the list\n", out=out)
    assert asker.plain
    assert asker.ask("First?") == "from the list"
    with pytest.raises(EndOfAnswers):
        asker.ask("Second?")


def test_without_a_list_standard_input_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", StringIO("from a pipe\n"))
    assert open_asker(plain=True, out=StringIO()).ask("First?") == "from a pipe"


def test_a_process_without_standard_input_has_no_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    with pytest.raises(EndOfAnswers):
        open_asker(plain=True, out=StringIO()).ask("First?")

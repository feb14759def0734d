"""What an end says: all that is left is counted, no two suspects have one name, sizes are easy to read."""

from __future__ import annotations

import re

import pytest

from diagnose.model.script import End
from diagnose.present.script_text import script_lines
from diagnose.scripts.compiling import compile_script
from diagnose.store.rules import load_rules
from tests.scripts.orders import EYES, METER, POCKET, made, ordered, sources


def ends(tools: tuple[str, ...]) -> list[End]:
    """Return the ends of a script."""
    return [step for step in made("crew_cab_tray", tools, 8).steps.values() if isinstance(step, End)]


@pytest.mark.parametrize("tools", [EYES, METER, POCKET])
def test_what_is_left_comes_to_all_there_is(tools: tuple[str, ...]) -> None:
    """What is under 5 % may stay unsaid; each number is rounded."""
    for end in ends(tools):
        if end.end == "danger":  # what a sign speaks for, and no more
            continue
        said = [int(number) for number in re.findall(r"(\d+) %", end.say.partition("Left: ")[2])]
        assert 94 <= sum(said) <= 102, end.say


def test_no_two_suspects_have_one_name() -> None:
    """Leads gone to different places are told apart by where they went."""
    moved = 0
    for end in (*ends(METER), *ends(POCKET)):
        names = [suspect.name for suspect in end.faults]
        assert len(set(names)) == len(names)
        moved += sum(suspect.fault.to is not None for suspect in end.faults)
    assert moved


def test_sizes_of_fuses_stand_behind_those_of_cables() -> None:
    lists = [text for end in ends(POCKET) for text in end.bring if "mm2" in text and text.count(" fuses")]
    assert lists
    assert all("mm2" not in text.partition(" A ")[2] for text in lists)


def test_only_a_caller_is_asked_for_photos() -> None:
    assert any(end.photos for end in ends(EYES))
    assert not any(end.photos for end in ends(POCKET))


def test_a_complaint_that_is_ordered_by_its_id_is_shown_in_words() -> None:
    script = made("crew_cab_tray", EYES, 8)
    assert script.complaint == "no_charge_driving"
    assert script.heading == f"{script.title}: {load_rules().complaints['no_charge_driving'].says}"
    words = compile_script(sources("crew_cab_tray"), ordered(EYES, 2)._replace(complaint="it never charges"))
    assert words.heading == f"{words.title}: it never charges"


def test_an_installer_at_the_vehicle_is_not_told_to_send_anybody() -> None:
    """Who stands there is told whether a repair is needed, not what a visit costs."""
    for tools, words in ((EYES, {True: "Send someone", False: "Nobody is sent"}),
                         (POCKET, {True: "A repair is likely", False: "No repair is likely now"})):  # fmt: skip
        assert {end.send: end.verdict for end in ends(tools)} == words
        text = "\n".join(script_lines(made("crew_cab_tray", tools, 8), 100))
        assert ("Cost:" in text) is (tools == EYES)
        assert ("Someone will come" in text) is (tools == EYES)
        assert ('Say: "' in text) is (tools == EYES)

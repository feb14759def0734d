"""What a trainee waits for: an answer of the meter, score and debrief with its page: processor time."""

from __future__ import annotations

from collections.abc import Iterator
from time import process_time

from diagnose.cli.practice_acts import ActReader
from diagnose.cli.practice_case import opened
from diagnose.cli.walk_answers import Answers
from diagnose.present.practice_page import debrief_page
from diagnose.store.practice_cases import case_path

__all__ = ["figures"]

#: a case with its acts, tests of several kinds among them
CASE = "tray-earth-01"
ACTS = (
    "volts tray chassis running", "zero", "amps output_cable running", "look tray_strap", "ohms tray chassis isolated",
    "volts charger_in charger_neg running", "diagnosis high_resistance tray_strap 90 %",
    "repair high_resistance tray_strap", "volts tray chassis running", "stop",
)  # fmt: skip


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    case = opened(case_path(CASE))
    room, loaded = case.game.room, case.loaded
    reader = ActReader(Answers(loaded.installation, case.rules))
    took = []
    for act in ACTS:
        typed = reader.read(act, room.state)
        begun = process_time()
        step = room.do(typed)
        if step.read is not None:
            took.append(1e3 * (process_time() - begun))
    shown = f"{min(took):.0f} to {max(took):.0f} ms"
    yield f"answer of the meter in `{CASE}`, {len(took)} tests", shown, "100 ms"
    begun = process_time()
    for k in range(len(room.readings) + 1):
        case.game.examiner.after(room.readings[:k])
    thought = process_time() - begun
    yield f"what the examiner thinks meanwhile in `{CASE}`, the whole case, cold", f"{thought:.1f} s", ""
    begun = process_time()
    score = case.game.score(case.practice)
    debrief = case.game.debrief(score, case.practice, loaded.case.teaches)
    debrief_page(loaded.case, score, debrief, loaded.installation, case.rules)
    yield f"score, debrief and page of `{CASE}` after that", f"{process_time() - begun:.1f} s", "3 s"

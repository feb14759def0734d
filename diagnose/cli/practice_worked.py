"""`diagnose practice --worked`: a case solved step by step, with the reason of each step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from diagnose.cli.asker import Asker

if TYPE_CHECKING:
    from diagnose.cli.practice_case import Opened

__all__ = ["show_worked"]


def show_worked(case: Opened, asker: Asker, width: int) -> int:
    """Show how the engine solves a case; return the exit status."""
    from diagnose.practice.policy import played
    from diagnose.present.practice import case_lines
    from diagnose.present.practice_worked import worked_lines

    loaded, game = case.loaded, case.game
    if loaded.case.exam:
        asker.say("This case is kept for examination; it is not shown worked.")
        return 0
    asker.say("\n".join(case_lines(loaded.case, loaded.installation, width)))
    found = played(game.examiner, game.room.vehicle, loaded.lies)
    asker.say("\n".join(worked_lines(found, width, loaded.installation, case.rules)))
    asker.say("\nNow solve one like it without help: diagnose practice --random")
    return 0

"""What practice keeps: a line of progress for a name, and the result of an examination with its mark."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from diagnose.cli.asker import Asker

if TYPE_CHECKING:
    from diagnose.cli.practice_case import Opened, Wanted
    from diagnose.model.practice import Score

__all__ = ["kept", "refuse_early"]


def refuse_early(wanted: Wanted) -> None:
    """Refuse files that could not be written in the end, before anything is done."""
    from diagnose.store.new_file import refuse_taken

    for path in (wanted.html, wanted.exam):
        if path is not None:
            refuse_taken(path, wanted.force)


def kept(case: Opened, score: Score, form: dict[str, Any], wanted: Wanted, asker: Asker) -> None:
    """Keep what is to be kept, and say where."""
    if wanted.exam is not None:
        from diagnose.store.practice_results import write_result

        write_result(wanted.exam, form, wanted.name or "", case.loaded.digest, wanted.word, wanted.force)
        asker.say(f"The result is in {wanted.exam}.")
    if wanted.name is not None:
        from diagnose.store.practice_progress import add_progress, progress_folder

        teaches = () if wanted.exam is not None else case.loaded.case.teaches
        path = add_progress(progress_folder(wanted.folder, os.environ), wanted.name, case.loaded.case, score, teaches)
        asker.say(f"Kept for {wanted.name} in {path}; see diagnose progress {wanted.name}.")

"""Works ahead while a person is busy: the predictions during the questions of the start, then what an answer will need.

From a pipe or a list the answers are there already, so there is nothing to work ahead of.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable

from diagnose.session.walk import Session

__all__ = ["START", "Ahead"]

#: states of the questions before the first test; the answers to the last two are weighed
START = ("alarm", "standing", "tools", "meter", "complaint", "seen")


class Ahead:
    """A thread beside the dialogue; nothing of the session's adviser may be asked before `wait` returns."""

    def __init__(self, session: Session) -> None:
        """Begin with what the first test needs, where somebody waits at a terminal and no reading was told yet."""
        self._session = session
        self._live = sys.stdin is not None and sys.stdin.isatty()
        self._thread: threading.Thread | None = None
        if session.facts.state in START[:-1] and not session.facts.readings:
            self._begin(session.adviser.warm)

    def think(self) -> None:
        """Begin to work out what the answer to the question at hand will need."""
        if self._live and self._session.facts.state not in START:
            self.wait()
            work = self._session.ahead()
            if work is not None:
                self._begin(work)

    def wait(self) -> None:
        """Return when nothing runs any more."""
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _begin(self, work: Callable[[], None]) -> None:
        if self._live:
            self._thread = threading.Thread(target=_quietly, args=(work,), daemon=True)
            self._thread.start()


def _quietly(work: Callable[[], None]) -> None:
    try:
        work()
    except Exception:  # whatever it is shows itself when the answer is weighed
        return

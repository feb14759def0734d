"""Lets the examiner think while the trainee does, so that the debrief comes at once."""

from __future__ import annotations

import sys
import threading
from types import TracebackType

from diagnose.practice.examiner import Examiner
from diagnose.practice.room import Room

__all__ = ["Warming"]


class Warming:
    """Works out what is thought after the readings so far; use it in a `with` block.

    Where nobody waits at a terminal there is nothing to work ahead of.
    """

    def __init__(self, examiner: Examiner, room: Room) -> None:
        """Prepare; nothing runs yet."""
        self._examiner, self._room = examiner, room
        self._live = sys.stdin is not None and sys.stdin.isatty()
        self._thread: threading.Thread | None = None

    def begin(self) -> None:
        """Begin to think about the readings as they are now."""
        if self._live:
            readings = tuple(self._room.readings)
            self._thread = threading.Thread(target=self._think, args=(readings,), daemon=True)
            self._thread.start()

    def _think(self, readings) -> None:  # type: ignore[no-untyped-def]
        try:
            self._examiner.after(readings)
        except Exception:
            return

    def wait(self) -> None:
        """Return; the meter does not wait for the examiner, which has a vehicle of its own."""

    def __enter__(self) -> Warming:
        self.begin()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._thread is not None:
            self._thread.join()  # a thread that is still computing must not outlive the interpreter

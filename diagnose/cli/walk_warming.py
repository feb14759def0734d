"""Works the predictions out while the questions of the start are answered, so that the first test comes at once."""

from __future__ import annotations

import sys
import threading

from diagnose.session.walk import Session

__all__ = ["warming"]


def warming(session: Session) -> threading.Thread | None:
    """Return a thread that asks the engine for the first test ahead of time, or None where nobody is waiting.

    From a pipe or a list the answers are there already, so there is nothing to work ahead of.
    """
    start = session.facts.state in ("alarm", "standing", "tools", "meter", "complaint")
    if not start or session.facts.readings or not (sys.stdin is not None and sys.stdin.isatty()):
        return None
    thread = threading.Thread(target=_warm, args=(session,), daemon=True)
    thread.start()
    return thread


def _warm(session: Session) -> None:
    try:
        session.adviser.warm()
    except Exception:
        return

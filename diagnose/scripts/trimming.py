"""What makes no difference taken out of a finished script: cards whose answers all lead to the same, bands side by side
that do.

Nothing is chosen or weighed here: each call comes to the same end as before, with no card more.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.model.script import Answer, End, Question
from diagnose.scripts.wording import band_label

__all__ = ["trimmed"]


def trimmed(root: str, steps: Mapping[str, Question | End]) -> tuple[str, dict[str, Question | End]]:
    """Return where a script begins, and its steps, without what makes no difference.

    Ends are put together only when all is grown, so that a card may then lead to one end whatever is answered.
    """
    root, kept = _without_idle(root, dict(steps))
    return root, {
        name: step if isinstance(step, End) else step._replace(answers=_joined(step.answers))
        for name, step in kept.items()
    }  # fmt: skip


def _without_idle(root: str, steps: dict[str, Question | End]) -> tuple[str, dict[str, Question | End]]:
    while True:
        idle: dict[str, str] = {}
        for name, step in steps.items():
            if isinstance(step, Question):
                led = {answer.go for answer in step.answers}
                if len(led) == 1:
                    idle[name] = led.pop()
        if not idle:
            return root, steps
        # One at a time along a path: what an idle one leads to may be idle itself.
        chosen = {name: go for name, go in idle.items() if go not in idle}
        root = chosen.get(root, root)
        steps = {
            name: step if isinstance(step, End) else step._replace(
                answers=tuple(answer._replace(go=chosen.get(answer.go, answer.go)) for answer in step.answers)
            )
            for name, step in steps.items() if name not in chosen
        }  # fmt: skip


def _joined(answers: tuple[Answer, ...]) -> tuple[Answer, ...]:
    """Return answers with bands side by side that lead to the same made one."""
    found: list[Answer] = []
    for answer in answers:
        last = found[-1] if found else None
        if last is not None and (last.read, answer.read, answer.go) == (None, None, last.go):
            label = band_label(last.low, answer.high, answer.unit or "")
            found[-1] = last._replace(label=label, high=answer.high)
        else:
            found.append(answer)
    return tuple(found)

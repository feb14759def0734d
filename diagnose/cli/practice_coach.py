"""The coach: before a test asks for suspects and expected readings, afterwards sets them beside the model's."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from diagnose.cli.asker import Asker, EndOfAnswers
from diagnose.cli.practice_acts import ActReader
from diagnose.model.fault import FaultAt
from diagnose.model.practice import Act
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.present.walk_words import fault_words, figure, wrapped

if TYPE_CHECKING:
    from diagnose.cli.practice_case import Opened

__all__ = ["Coach"]

ASKS = (
    "Which suspects, and what do you expect to read if each is right? "
    "(for example: blown input_fuse = 0 V; high_resistance tray_strap = 0.6 V; Enter goes on)"
)


class Said(NamedTuple):
    """A suspect with what the trainee expects to read if it is right."""

    fault: FaultAt
    expects: str


class Coach:
    """Asks and compares; it never says what is wrong with the vehicle."""

    def __init__(self, case: Opened, asker: Asker, reader: ActReader, width: int) -> None:
        """Prepare; nothing is asked yet."""
        self._case, self._asker, self._reader, self._width = case, asker, reader, width

    def before(self, act: Act) -> list[Said] | None:
        """Ask before a test; return what was said, None where nothing is to be asked."""
        if act.kind != "measure" or act.take is None:
            return None
        try:
            text = self._asker.ask("\n".join(wrapped(ASKS, self._width)), (), self._read, blank=True)
        except EndOfAnswers:
            return None
        said = self._read(text)
        if said:
            self._case.game.room.do(Act("suspects", text, named=tuple(each.fault for each in said)))
        return said or None

    def _read(self, text: str) -> list[Said]:
        found = []
        for part in filter(None, (each.strip() for each in re.split(r";|,\s", text))):
            name, _, expects = part.partition("=")
            if len(name.split()) < 2:
                raise ValueError("name a fault and a part, for example: blown input_fuse = 0 V; or Enter to go on")
            found.append(Said(self._reader.fault(name.split()), expects.strip()))
        return found

    def after(self, act: Act, said: list[Said]) -> None:
        """Set what was expected beside what the model expects."""
        assert act.take is not None
        case = self._case
        for each in said:
            rule = case.rules.faults[each.fault.fault]
            hypothesis = Hypothesis(each.fault, rule, 1.0)
            take = act.take._replace(when="isolated") if act.take.quantity == "ohms" else act.take
            (band,) = expected_readings(case.loaded.installation, case.rules, case.tables, [take], hypothesis, 1)
            if band.chances:
                model = max(band.chances, key=lambda pair: pair[1])[0]
            elif band.low is not None and band.high is not None:
                ends = dict.fromkeys(figure(end, band.unit) for end in (band.low, band.high))
                model = " to ".join(ends)
            else:
                model = "nothing steady"
            name = fault_words(each.fault, case.loaded.installation, case.rules)
            yours = f"you said {each.expects}" if each.expects else "you did not say"
            for line in wrapped(f"If {name}: {yours}; the model says {model}.", self._width, "  ", "  "):
                self._asker.say(line)

"""A person with a meter at a vehicle, counting minutes: what those the engine is compared with read by.

It keeps what was read, in order; it decides nothing.
"""

from __future__ import annotations

from diagnose.evaluation.game import MOST_MINUTES, MOST_TESTS
from diagnose.inference.candidates import minutes_after
from diagnose.model.reading import Read, Reading, Take
from diagnose.simulation.vehicle import SimulatedVehicle

__all__ = ["Meter", "OutOfTimeError"]


class OutOfTimeError(RuntimeError):
    """No further test is allowed."""


class Meter:
    """Reads a vehicle; the same test again is looked up and costs nothing."""

    def __init__(self, vehicle: SimulatedVehicle) -> None:
        """Begin with no readings."""
        self.vehicle, self.minutes = vehicle, 0.0
        self.readings: list[Reading] = []
        self._known: dict[Take, Read] = {}

    def read(self, take: Take) -> Read:
        """Return what is read.

        Raises: OutOfTimeError where tests or minutes are used up.
        """
        if take in self._known:
            return self._known[take]
        if len(self.readings) >= MOST_TESTS * 2 or self.minutes >= MOST_MINUTES:
            raise OutOfTimeError
        v = self.vehicle
        self.minutes += minutes_after(self.readings, [take], v.installation, v.rules, v.tables)[0]
        read = v.told(take)
        self._known[take] = read
        self.readings.append(Reading(take, read))
        return read

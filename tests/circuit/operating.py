"""What the netlists are written from: one column of numbers, the state, and what every device that decides does."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from diagnose.circuit.parameters import Parameters
from diagnose.circuit.wiring import Wiring
from diagnose.model.states import OPERATING_STATES, OperatingState

__all__ = ["Charging", "Doing", "Vehicle", "load_runs"]


@dataclass(frozen=True)
class Charging:
    """What one charger does."""

    on: bool = False
    hunts: bool = False
    sun: bool = False
    backed: bool = False
    panel_open: float = 0.0
    stop: float = 0.0


@dataclass(frozen=True)
class Doing:
    """What everything that decides does: chargers, relays that have closed, relays that chatter, loads that cut out."""

    chargers: tuple[Charging, ...]
    closed: frozenset[int] = frozenset()
    chatter: frozenset[int] = frozenset()
    tripped: frozenset[int] = frozenset()


@dataclass
class Vehicle:
    """One vehicle in one operating state; `meters` are resistors (node, node, ohm), `feeds` sources (from, to,
    ampere).
    """

    wiring: Wiring
    numbers: dict[str, list[float]]
    state: OperatingState
    meters: tuple[tuple[int, int, float], ...] = ()
    feeds: tuple[tuple[int, int, float], ...] = ()
    hints: dict[int, float] = field(default_factory=dict)

    @classmethod
    def of(cls, wiring: Wiring, parameters: Parameters, state: str, column: int = 0) -> Vehicle:
        """Take one column of the parameters."""
        numbers = {name: [float(v) for v in values[:, column]] for name, values in parameters.items()}
        return cls(wiring, numbers, OPERATING_STATES[state])

    def number(self, name: str, row: int) -> float:
        """Return one number."""
        return self.numbers[name][row]

    def part(self, name: str) -> object:
        """Return the record of a part."""
        return self.wiring.installation.parts[name]

    def edges(self, doing: Doing) -> Iterable[tuple[int, int, int, float]]:
        """Yield number, nodes and resistance of every edge that conducts."""
        keyed = set(self.wiring.key_edges.tolist())
        contacts = {relay.edge: k for k, relay in enumerate(self.wiring.relays)}
        for k, edge in enumerate(self.wiring.edges):
            ohms = self.number("resistance", k)
            a, b = self.wiring.index[edge.a], self.wiring.index[edge.b]
            shut = (k in keyed and not self.state.key) or (k in contacts and contacts[k] not in doing.closed)
            if edge.role == "load_resistance" and not self.state.loads:
                shut = shut or self.state.isolated or not getattr(self.part(edge.part), "always_on", False)
            if a != b and not shut and ohms != float("inf"):
                yield k, a, b, ohms


def load_runs(vehicle: Vehicle, k: int) -> bool:
    part = vehicle.part(vehicle.wiring.devices["power_load"][k].part)
    return not vehicle.state.isolated and (vehicle.state.loads or bool(getattr(part, "always_on", False)))

"""What is fitted for a while as readings are taken, with the state they are taken in: a jumper, a good part, a lamp."""

from __future__ import annotations

from typing import NamedTuple

from diagnose.circuit.graph import Edge
from diagnose.circuit.parameters import Parameters
from diagnose.circuit.wiring import Wiring
from diagnose.model.figures import Tables

__all__ = ["Fitted", "set_fitted"]

#: role of an edge that is fitted -> its figure in the tables of meters
FIGURES = {"jumper": "jumper_resistance", "lamp": "test_lamp_resistance"}


class Fitted(NamedTuple):
    """An operating state with what is temporarily fitted while readings are taken."""

    state: str
    jumper: tuple[str, str] | None = None
    swap: str | None = None
    lamp: tuple[str, str] | None = None

    @property
    def plain(self) -> bool:
        """Whether nothing is fitted."""
        return self[1:] == (None, None, None)

    @property
    def edges(self) -> tuple[Edge, ...]:
        """The edges that are fitted; they are open until `set_fitted`."""
        pairs = (("jumper", self.jumper), ("lamp", self.lamp))
        return tuple(Edge(role, role, None, *pair) for role, pair in pairs if pair)


def set_fitted(wiring: Wiring, numbers: Parameters, tables: Tables) -> None:
    """Give the edges that are fitted their resistance, in place."""
    for role, figure in FIGURES.items():
        if (k := wiring.edge_index.get((role, role, None))) is not None:
            numbers["resistance"][k] = tables.number("meters", figure)

"""The circuit of one simulated vehicle with any number of faults in it, solved state by state when it is asked for.

Each fault is applied by its own law to one set of numbers, after what the tables do not tell has been put in. Nothing
here reads an instrument.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.circuit.faults import apply_fault, together, variant_of
from diagnose.circuit.modes import solve_states
from diagnose.circuit.parameters import Parameters
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.prediction.fitting import Fitted, set_fitted
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.readers import Scene
from diagnose.prediction.solving import sizes_of, spare_of
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import Vehicles, draw_vehicles
from diagnose.simulation.mismatch import Mismatch, shifted

__all__ = ["HiddenCircuit"]

#: laws that end by setting the profile that each lead now picks, from how the wiring was meant to be
_FOLLOWING = frozenset({"open", "open_element", "move_end"})


class HiddenCircuit:
    """One vehicle's circuit; a condition is solved once."""

    def __init__(
        self, installation: Installation, tables: Tables, hidden: Sequence[Hypothesis], streams: Streams,
        mismatch: Mismatch,
    ) -> None:  # fmt: skip
        """Prepare; nothing is solved yet. `hidden` are the faults, those without a fault among them left out."""
        self.installation, self.tables, self.streams = installation, tables, streams
        self.hidden = tuple(h for h in hidden if h.fault is not None)
        self._mismatch = mismatch
        self._wired: dict[Fitted, tuple[Wiring, Vehicles]] = {}
        self._scenes: dict[Fitted, Scene] = {}

    def scene(self, fitted: Fitted) -> Scene:
        """Return the solved condition.

        Raises: RuntimeError where no solution is found, since a reading would then be made up.
        """
        if fitted not in self._scenes:
            wiring, vehicles = self._wire(fitted._replace(state=""))
            solution = solve_states(wiring, vehicles.parameters, [fitted.state])[0]
            if not solution.settled.all():
                raise RuntimeError(f"no solution was found for a simulated vehicle in the state {fitted.state}")
            self._scenes[fitted] = Scene(wiring, vehicles.parameters, solution, vehicles, self.tables, fitted.state)
        return self._scenes[fitted]

    def _wire(self, fitted: Fitted) -> tuple[Wiring, Vehicles]:
        """Return the wiring with all faults and what is fitted, and the numbers in it."""
        if fitted in self._wired:
            return self._wired[fitted]
        active = [h for h in self.hidden if h.fault is not None and h.fault.part != fitted.swap]
        needed = together(
            variant_of(self.installation, h.fault, h.rule.change) for h in active if h.fault and h.rule is not None
        )
        wiring = build_wiring(self.installation, needed.extra + fitted.edges, needed.swapped)
        drawn = draw_vehicles(wiring, self.tables, self.streams)
        numbers = shifted(drawn.parameters, tuple(e.role for e in wiring.edges), self._mismatch, self.streams)
        set_fitted(wiring, numbers, self.tables)
        self._break(active, wiring, numbers)
        self._wired[fitted] = (wiring, drawn._replace(parameters=numbers))
        return self._wired[fitted]

    def _break(self, active: Sequence[Hypothesis], wiring: Wiring, numbers: Parameters) -> None:
        """Apply every fault; the profile that leads pick is worked out from all of them, and only once."""
        followed = 0.0 * numbers["charger.voltage"]
        for hypothesis in active:
            fault, rule = hypothesis.fault, hypothesis.rule
            assert fault is not None
            assert rule is not None
            follows = rule.change in _FOLLOWING
            before = numbers["charger.voltage"].copy()
            if follows:
                numbers["charger.voltage"] -= followed
            size = sizes_of(hypothesis, self.installation, self.streams)
            apply_fault(wiring, numbers, fault, rule.change, size, spare_of(fault, self.streams))
            if follows:
                followed = numbers["charger.voltage"] - (before - followed)

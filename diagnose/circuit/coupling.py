"""How a charger ties its ports together, solved exactly within one round of Newton's method.

Within a round the rest of the network is linear. A running charger holds its profile voltage behind its regulation
resistance, unless its current limit, or what its input or panel can give, is reached first; its input draws what the
output needs. Each of these cases is one quadratic, and of its roots the one is taken that is reached from rest.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from diagnose.circuit.branches import Branches, Rows
from diagnose.circuit.elimination import Array

__all__ = ["Flow", "Linear", "couple", "flow_of"]


class Linear(NamedTuple):
    """One charger in a linear network in which its output holds its profile voltage without limit.

    `out`, `port`: output and input volts with nothing else drawn; `out_out`, `out_in`, `in_in` [ohm]: volts lost at
    the one for each ampere drawn at the other. All of shape (variants,).
    """

    out: Array
    port: Array
    out_out: Array
    out_in: Array
    in_in: Array


class Flow(NamedTuple):
    """What a charger does: `extra` [A] drawn at its output beside its voltage law, `input` [A], `output` [A] given."""

    extra: Array
    input: Array
    output: Array


def couple(branches: Branches, rows: Rows, voltage: Array) -> None:
    """Set the chargers' input power and output limits for the present voltages, in place.

    Parameters: `branches`, whose `low` and `power` are overwritten for chargers; `voltage` [V], shape (branches,
    variants).
    """
    current, _ = branches.on_ramps(voltage[rows.ramps])
    out, given_now = voltage[rows.output], -current[rows.output]
    sun = voltage[rows.track] * current[rows.track] * branches.tracking
    hold = voltage[rows.hold] * current[rows.hold] * branches.held
    supplied = np.maximum(branches.efficiency * (sun + hold - branches.standing), 0.0) / np.maximum(out, 1.0)
    limit = np.where(_scarce(branches), np.minimum(branches.limit, supplied), branches.limit)
    branches.low[rows.output] = -limit  # one that does not run has no slope and gives nothing
    need = out * np.minimum(given_now, limit) / branches.efficiency + branches.standing
    first = rows.load.start
    inputs, panels = (slice(r.start - first, r.stop - first) for r in (rows.input, rows.solar))
    branches.power[inputs] = branches.drawing * (1.0 - branches.backed) * np.maximum(need - sun, 0.0)
    branches.power[panels] = branches.backed * need


def _scarce(branches: Branches) -> Array:
    """Return where a charger gives all that its input or panel has to give."""
    return np.asarray((branches.held + branches.tracking * (1.0 - branches.drawing)) > 0)


def _root(square: Array, straight: Array, constant: Array) -> tuple[Array, Array]:
    """Return the root of a quadratic that grows from zero with its constant term (at most 0), and where there is
    none.
    """
    inside = straight**2 - 4.0 * square * constant
    none = (inside < 0.0) | ((straight <= 0.0) & (square <= 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        root = -2.0 * constant / (straight + np.sqrt(np.maximum(inside, 0.0)))
    return np.where(none | (constant == 0.0), 0.0, root), none


def flow_of(at: Linear, branches: Branches, row: int, rows: Rows, sun: Array) -> Flow:
    """Return what one charger does in a linear network.

    Parameters: `row` of the charger; `sun` [W], what its panel gives to it now.
    """
    slope, profile = branches.slope[rows.output][row], branches.zero[rows.output][row]
    most = branches.limit[row]
    level = slope * (profile - at.out)
    loose = np.maximum(1.0 - slope * at.out_out, 0.0)
    draws = branches.drawing[row] * (1.0 - branches.backed[row])
    free, none = _drawn(at, (level, slope * at.out_in), branches, row, rows, sun)
    output = level + slope * at.out_in * free * draws
    capped = (loose > 0) & ((output > most) | (none & (draws > 0)) | (level < 0))
    target = np.where(level < 0, 0.0, most)
    scarce = _scarce(branches)[row]
    target = np.where(scarce, _given(at, level, loose, branches, row, rows, sun), target)
    capped = capped | (scarce & (loose > 0))
    safe = np.where(loose > 0, loose, 1.0)
    moved = at._replace(
        out=at.out - at.out_out * (level - target) / safe,
        port=at.port - at.out_in * (level - target) / safe,
        out_in=at.out_in / safe,
        in_in=at.in_in + slope * at.out_in**2 / safe,
    )
    bound, _ = _drawn(moved, (target, np.zeros_like(target)), branches, row, rows, sun)
    drawn = draws * np.where(capped, bound, free)
    extra = np.where(capped, (level + slope * at.out_in * drawn - target) / safe, 0.0)
    output = np.where(capped, target, level + slope * at.out_in * drawn)
    return Flow(extra * (slope > 0), drawn, output * (slope > 0))


def _drawn(
    at: Linear, output: tuple[Array, Array], branches: Branches, row: int, rows: Rows, sun: Array
) -> tuple[Array, Array]:
    """Return the input current [A] that feeds an output current of ``first + grow * input``, and where there is none.

    Below its floor voltage the input takes constant current, as its law says.
    """
    first, grow = output
    efficiency, standing = branches.efficiency[row], branches.standing[row]
    floor = branches.floor[rows.input.start - rows.load.start + row]
    straight = (at.out * grow - at.out_in * first) / efficiency
    square = at.out_in * grow / efficiency
    constant = np.minimum(-(at.out * first / efficiency + standing - sun), 0.0)
    current, none = _root(square - at.in_in, at.port - straight, constant)
    below = none | (at.port - at.in_in * current < floor)
    held, lost = _root(square, floor - straight, constant)
    return np.where(below, held, current), below & lost


def _given(at: Linear, level: Array, loose: Array, branches: Branches, row: int, rows: Rows, sun: Array) -> Array:
    """Return the output current [A] of a charger that gives all its input, held at the stop voltage, and its panel
    have.
    """
    safe = np.where(loose > 0, loose, 1.0)
    efficiency = branches.efficiency[row]
    hold, stop = branches.slope[rows.hold][row] * branches.held[row], branches.zero[rows.hold][row]
    out, port = at.out - at.out_out * level / safe, at.port - at.out_in * level / safe
    out_gain, port_gain = at.out_out / safe, at.out_in / safe
    above = port - stop
    square = out_gain - efficiency * hold * port_gain**2
    straight = out - efficiency * hold * port_gain * (port + above)
    constant = np.minimum(-efficiency * (hold * port * above + sun - branches.standing[row]), 0.0)
    current, none = _root(square, straight, constant)
    most = np.clip(level, 0.0, branches.limit[row])
    return np.where(none, most, np.clip(current, 0.0, most))

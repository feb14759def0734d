"""Vehicles of the shipped layouts with one or two random faults, for the comparison with the oracle."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from diagnose.circuit.faults import Variant, apply_fault, variant_of
from diagnose.circuit.parameters import Parameters
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses
from diagnose.prediction.solving import sizes_of
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import draw_vehicles
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.rules import load_rules
from diagnose.store.tables import load_tables

__all__ = ["FaultyVehicle", "faulty_vehicle", "hypotheses_of", "layout", "tables"]


class FaultyVehicle(NamedTuple):
    """One vehicle: its wiring, one column of numbers, the labels of its faults."""

    wiring: Wiring
    parameters: Parameters
    faults: tuple[str, ...]


@cache
def tables() -> Tables:
    """Return the figures of the rule base."""
    return load_tables(rules_folder())


@cache
def _rules() -> RuleBase:
    return load_rules()


@cache
def layout(name: str) -> Installation:
    """Return a shipped layout."""
    return load_layout(name)


@cache
def hypotheses_of(name: str) -> tuple[Hypothesis, ...]:
    """Return every single fault of a layout at every place, without `nothing wrong`."""
    return tuple(h for h in all_hypotheses(layout(name), _rules()) if h.fault is not None)


def faulty_vehicle(name: str, seed: int, count: int) -> FaultyVehicle:
    """Return a vehicle of a layout with `count` faults of different kinds of fault, evenly drawn, then of any place.

    A kind of fault is drawn first: drawn over all places, nearly all would be joints.
    """
    random = np.random.default_rng(seed)
    everything = hypotheses_of(name)
    kinds = sorted({h.fault.fault for h in everything if h.fault is not None})
    chosen: list[Hypothesis] = []
    while len(chosen) < count:
        kind = kinds[random.integers(len(kinds))]
        places = [h for h in everything if h.fault is not None and h.fault.fault == kind]
        one = places[random.integers(len(places))]
        if one not in chosen:
            chosen.append(one)
    return _with(layout(name), chosen, seed)


def _with(installation: Installation, chosen: list[Hypothesis], seed: int) -> FaultyVehicle:
    variants = [variant_of(installation, h.fault, h.rule.change) for h in chosen if h.fault and h.rule]
    extra = tuple(dict.fromkeys(edge for variant in variants for edge in variant.extra))
    both = Variant(extra, frozenset().union(*(variant.swapped for variant in variants)))
    wiring = build_wiring(installation, both.extra, both.swapped)
    streams = Streams(seed, 1)
    numbers = draw_vehicles(wiring, tables(), streams).parameters
    for h in chosen:
        assert h.fault is not None
        assert h.rule is not None
        spare = streams.share(f"spare {h.fault.fault} {h.fault.part} {h.fault.at}")
        apply_fault(wiring, numbers, h.fault, h.rule.change, sizes_of(h, installation, streams), spare)
    return FaultyVehicle(wiring, numbers, tuple(h.label for h in chosen))

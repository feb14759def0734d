"""The design check of one installation: every rule asked, every line gathered, in the order of the families.

Adding a rule takes its function here and its file in `rules/checks`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping

from diagnose.basics.errors import Problem
from diagnose.design_check import cables, charger, charging, energy, fuses, grounds, ignition, solar, ventilation
from diagnose.design_check.conditions import solve_conditions
from diagnose.design_check.design import Design
from diagnose.design_check.walks import net_of
from diagnose.model.checks import Assumptions, CheckLine, CheckRule
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation

__all__ = ["CHECKS", "check_design", "design_of", "without_rule"]

CHECKS: Mapping[str, Callable[[Design], Iterator[CheckLine]]] = {
    check.__name__: check
    for check in (
        fuses.fuse_at_battery, cables.cable_carries_fuse, cables.cable_carries_load, fuses.fuse_carries_load,
        fuses.fuse_breaks, fuses.fuse_style, cables.drop_in_all, cables.drop_along_leg, cables.drop_to_load,
        grounds.negatives_joined, grounds.earth_carries_load, grounds.earth_proved,
        charger.charger_hunts, charger.charger_near, charger.charger_cool, charger.charger_size_battery,
        charger.charger_size_alternator, ignition.ignition_needed, ignition.ignition_dies_with_key,
        charging.profile_suits, charging.charge_limit, charging.profile_suits_warmth, charging.lfp_needs_charger,
        charging.charge_in_cold, ventilation.battery_gets_air, solar.panel_volts_in_cold,
        energy.energy_day, energy.energy_flat, energy.energy_full,
    )
}  # fmt: skip


def without_rule(known: Collection[str]) -> list[Problem]:
    """Return a problem for each check that a rule base has no file of.

    Parameters: `known`, the ids of its checks.
    """
    right = "a whole rule base has one for every check"
    gone = sorted(CHECKS.keys() - set(known))
    return [Problem(f"rules/checks/{name}.yaml", None, None, "no such file", right) for name in gone]


def design_of(
    installation: Installation, tables: Tables, rules: Mapping[str, CheckRule], assumed: Assumptions
) -> Design:
    """Return the installation with its conductors walked and its conditions solved."""
    net = net_of(installation)
    return Design(installation, tables, rules, assumed, net, solve_conditions(installation, tables, net))


def check_design(
    installation: Installation, tables: Tables, rules: Mapping[str, CheckRule], assumed: Assumptions
) -> tuple[CheckLine, ...]:
    """Return every line of the design check.

    Parameters: `tables`, the rule base's figures; `rules`, its checks by id; `assumed`, hours and cold.
    Returns: the lines, rule by rule.
    """
    design = design_of(installation, tables, rules, assumed)
    return tuple(line for rule in CHECKS.values() for line in rule(design))

"""The card of the owner: what is normal for this installation, what to look for, when to stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diagnose.model.figures import Tables
    from diagnose.model.installation import Installation
    from diagnose.model.rules import RuleBase

__all__ = ["owner_card"]


def owner_card(installation: Installation, rules: RuleBase, tables: Tables) -> str:
    """Return the card of the owner: what a sound installation of this description reads."""
    from diagnose.prediction.expected import expected_readings
    from diagnose.prediction.hypotheses import SOUND
    from diagnose.present.card_page import card_page, card_takes

    takes = card_takes(installation)
    return card_page(expected_readings(installation, rules, tables, takes, SOUND, 1), installation)

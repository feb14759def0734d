"""Words of help that several commands share; it must not import anything."""

from __future__ import annotations

__all__ = ["RULES_HELP"]

RULES_HELP = "A folder of your own rules, laid over those that ship key by key; or a whole rule base."

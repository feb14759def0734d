"""The words a reading may be."""

from __future__ import annotations

from diagnose.model.reading import QUANTITIES
from diagnose.model.words import WORDS, words_for


def test_a_quantity_without_a_unit_has_words_and_no_other_has() -> None:
    assert {quantity for quantity, (_, unit) in QUANTITIES.items() if unit is None} == set(WORDS)


def test_words_by_instrument() -> None:
    assert words_for("volts", "test_lamp") == ("on", "dim", "off")
    assert words_for("amps", "test_lamp") == ()
    assert "swollen" in words_for("look", "multimeter")
    assert words_for("unknown", "multimeter") == ()

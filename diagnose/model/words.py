"""The words a reading may be, for each quantity of the readings form.

Only the vocabulary; what a word is evidence of is the business of the rule base and of `prediction`.
"""

from __future__ import annotations

from diagnose.model.reading import QUANTITIES

__all__ = ["TEST_LAMP_WORDS", "WORDS", "words_for"]

#: quantity -> the words it may be read as; a quantity that is not named here is a number
WORDS: dict[str, tuple[str, ...]] = {
    "lamp": ("on", "off", "flashing", "cycling"),
    "look": (
        "good", "blown", "melted", "burnt", "loose", "corroded", "wet", "damaged", "missing", "reversed", "undersized",
        "wrong_setting", "wrong_connection", "wrong_rating", "swollen", "hot", "smoking",
    ),
    "smell": ("none", "burnt", "acid"),
    "works": ("yes", "weak", "no"),
    "tug": ("good", "loose"),
    "wiggle": ("steady", "changes"),
}
#: what volts may be read as with a test lamp: above 9 V, 3 to 9 V, below
TEST_LAMP_WORDS = ("on", "dim", "off")


def words_for(quantity: str, meter: str) -> tuple[str, ...]:
    """Return the words a reading of a quantity with an instrument may be.

    >>> words_for("volts", "test_lamp"), words_for("volts", "multimeter"), words_for("tug", "multimeter")
    (('on', 'dim', 'off'), (), ('good', 'loose'))
    """
    if quantity not in QUANTITIES:
        return ()
    return TEST_LAMP_WORDS if (quantity, meter) == ("volts", "test_lamp") else WORDS.get(quantity, ())

"""What a step should read on this installation, in words, before it is taken."""

from __future__ import annotations

from diagnose.commissioning.bands import Band, current_take
from diagnose.commissioning.bench import Bench
from diagnose.commissioning.sequence import Planned
from diagnose.model.reading import QUANTITIES
from diagnose.prediction.instruments import OVER_RANGE

__all__ = ["carries_its_own", "expected_words", "ohms_words"]


def expected_words(planned: Planned, bench: Bench) -> str:
    """Return what 95 of 100 sound installations of this description read; empty where it is no number.

    A drop is given at the current of full rating, with that current.
    """
    take = planned.step.take
    if take is None:
        return ""
    if planned.step.judge == "absorption":
        volts = float(planned.subject["volts"])
        return f"{volts - 0.1:.2f} V to {volts + 0.1:.2f} V once little current flows"
    if planned.step.judge == "drop":
        part = current_take(planned)
        full, band = bench.model.full_current(part), bench.model.ratio(take, part)
        return "" if band is None else f"{_span(band, 'V', full)} at {full:.0f} A, in proportion below"
    band = bench.model.band(take)
    if band is None:
        return ""
    if take.quantity == "ohms":
        low, high = ("OL" if b > OVER_RANGE - 0.5 else ohms_words(10.0**b) for b in (band.low, band.high))
        return low if low == high else f"{low} to {high}"
    return _span(band, QUANTITIES[take.quantity][1] or "")


def ohms_words(ohms: float) -> str:
    """Return a resistance as an ohmmeter shows it.

    >>> ohms_words(0.37), ohms_words(2430.0), ohms_words(4.2e6)
    ('0.4 ohm', '2.43 kohm', '4.2 Mohm')
    """
    if ohms < 1e3:
        return f"{ohms:.1f} ohm"
    return f"{ohms / 1e3:.3g} kohm" if ohms < 1e6 else f"{ohms / 1e6:.3g} Mohm"


def _span(band: Band, unit: str, scale: float = 1.0) -> str:
    low, high = band.low * scale, band.high * scale
    digits = 3 if unit == "V" and max(abs(low), abs(high)) < 1 else 2
    texts = [f"{each:.{digits}f}" for each in (low, high)]
    texts = [text.removeprefix("-") if float(text) == 0 else text for text in texts]
    return f"{texts[0]} {unit}" if texts[0] == texts[1] else f"{texts[0]} to {texts[1]} {unit}"


def carries_its_own(planned: Planned, bench: Bench) -> bool:
    """Return whether the part of a drop step carries a current of its own, so that it must be told with the drop."""
    if planned.step.judge != "drop" or planned.step.take is None:
        return False
    part = current_take(planned)
    for need in planned.step.needs:
        take = bench.planned[need].step.take
        share = bench.model.share(part, take) if take is not None else None
        if share is not None and share.high - share.low < 0.3 * abs(share.middle):
            return False
    return True

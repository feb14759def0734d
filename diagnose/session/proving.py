"""Which readings prove a repair, and which show that its neighbours were left sound.

A proof is a reading that told the fault from a sound vehicle before, or would have; afterwards it must lie in the
sound band. A neighbour is what may have been disturbed while the part was mended.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.inference.candidates import candidates, minutes_of
from diagnose.inference.ranking import Engine
from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Reading, Take, since_repair
from diagnose.model.terminals import points_of
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.sights import SOUND_WORD
from diagnose.session.facts import Check

__all__ = ["as_expected", "checks_after"]

#: share of vehicles with the fault that must read unlike sound ones for a reading to prove its repair
TELLING = 0.35
#: states in which the charger should work: there a whole run is seen at once
WORKING = ("engine_running", "engine_running_loaded", "mains_on", "sun_only")
#: how far outside its band a reading may lie, in widths of the band: one in twenty sound ones lies outside it
MARGIN = 0.25
NEIGHBOURS = 2


def checks_after(
    fault: FaultAt, engine: Engine, readings: Sequence[Reading], tools: Sequence[str], seed: int
) -> tuple[Check, ...]:
    """Return what is to be seen after a repair: the reading that proves it first, then neighbours.

    Parameters: `fault`, mended; `readings` so far, in order, the repair last; `tools` at hand. What could not be read
    since the repair is not asked for.
    Returns: nothing where no reading with these tools proves it.
    """
    since = since_repair(readings)
    skipped = {r.take for r in readings[since:] if r.read is not None and r.read.kind == "skipped"}
    allowed = [t for t in candidates(engine.installation, tools) if t not in skipped]
    earlier = [r.take for r in readings[:since] if r.take is not None and r.take not in skipped]
    proof = _proof(fault, engine, allowed, earlier)
    if proof is None:
        return ()
    neighbours = _neighbours(fault, engine, [t for t in allowed if t != proof], proof)
    takes = [proof, *neighbours]
    bands = expected_readings(engine.installation, engine.rules, engine.tables, takes, SOUND, seed)
    return tuple(Check(band, number > 0) for number, band in enumerate(bands))


def as_expected(expected: Expected, read: Read) -> bool:
    """Return whether a reading is as it should be on a sound vehicle.

    >>> from diagnose.model.reading import Take
    >>> band = Expected(Take("volts", ("a", "b"), "at_rest"), 12.6, 12.5, 12.7, "V", None)
    >>> [as_expected(band, Read("number", "", v)) for v in (12.6, 12.74, 13.0)]
    [True, True, False]
    """
    chances = dict(expected.chances)
    if read.kind == "word":
        return chances.get(read.word or "", 0.0) >= 0.05
    if read.kind == "over_range":
        return chances.get("OL", 0.0) >= 0.05
    if read.kind == "unsteady":
        return chances.get("unsteady", 0.0) >= 0.05
    if expected.low is None or expected.high is None or read.value is None:
        return False
    wide = MARGIN * (expected.high - expected.low) + (0.01 if expected.unit == "V" else 0.05)
    if read.kind == "below":
        return read.value >= expected.low
    return expected.low - wide <= read.value <= expected.high + wide


def _proof(fault: FaultAt, engine: Engine, allowed: Sequence[Take], earlier: Sequence[Take]) -> Take | None:
    """Return the reading that tells most surely whether the fault is gone, at the part itself where that does."""
    rows = [0, *(n for n, h in enumerate(engine.hypotheses) if h.fault is not None and _same(h.fault, fault))]
    if len(rows) < 2:
        return None
    near = set(points_of(engine.installation.parts[fault.part]))
    # the starter is turned again only where that is how it was found
    takes = [t for t in allowed if t.quantity not in SOUND_WORD and (t.when != "cranking" or t in earlier)]
    here = [t for t in takes if fault.part in _parts(t) or set(t.where) <= near | _lugs(fault.part, near)]
    whole = [t for t in takes if t.quantity in ("lamp", "amps", "works") and t.when in WORKING]
    chosen = list(dict.fromkeys([*(t for t in earlier if t in takes), *here, *whole]))
    seen = [t for t in allowed if t.quantity in SOUND_WORD and fault.part in _parts(t)]
    if not chosen:
        return _seen(engine, seen, rows[1])
    scored = []
    for take, share in zip(chosen, _telling(engine, chosen, rows[:2]), strict=True):
        base = engine.rules.tests[take.quantity].minutes
        minutes = minutes_of(take, base, engine.installation, None, frozenset(), (0.0, 0.0))
        scored.append((share + 0.1 * (take in here) + 0.05 * (take in earlier) - 0.01 * minutes, share, take))
    best = max(scored, key=lambda s: s[0])
    return best[2] if best[1] >= TELLING else _seen(engine, seen, rows[1])


def _seen(engine: Engine, takes: Sequence[Take], row: int) -> Take | None:
    """Return the look or tug that finds a fault most surely, for what no instrument shows."""
    hypotheses, scored = engine.hypotheses, []
    for take in takes:
        word = SOUND_WORD[take.quantity]
        sound = [engine.sights.chance(take.quantity, take.where[0], word, hypotheses[n]) for n in (0, row)]
        scored.append((sound[0] - sound[1], take))
    best = max(scored, key=lambda s: s[0], default=None)
    return best[1] if best is not None and best[0] >= TELLING else None


def _telling(engine: Engine, takes: Sequence[Take], rows: Sequence[int]) -> Iterator[float]:
    """Yield, for each test, the share of vehicles with the fault that read outside what sound ones read."""
    for take, predicted in zip(takes, engine.predictor.predict(takes, rows), strict=True):
        if predicted.words is not None and take.meter != "test_lamp":
            yield sum(abs(float(c[0].mean()) - float(c[1].mean())) for c in predicted.words.values()) / 2.0
            continue
        margin = 2.0 * float(predicted.noise[0].mean())
        sound = sorted(predicted.high[0].tolist())
        low, high = sound[len(sound) // 20] - margin, sound[-1 - len(sound) // 20] + margin
        outside = (predicted.high[1] < low) | (predicted.high[1] > high)
        yield float((outside | (predicted.hunts[1] > predicted.hunts[0])).mean())


def _neighbours(fault: FaultAt, engine: Engine, allowed: Sequence[Take], proof: Take) -> list[Take]:
    """Return what the repair may have disturbed: the whole run first, then what joins the same points."""
    points = set(points_of(engine.installation.parts[fault.part]))
    states = (proof.when, *WORKING) if proof.when in WORKING else WORKING
    whole = [t for s in states for t in allowed if t.when == s and t.quantity in ("lamp", "works")]
    whole += [t for s in states for t in allowed if t.when == s and t.quantity == "amps" and _is_charger(t, engine)]
    beside = [
        t for s in states for t in allowed if t.when == s and t.quantity == "volts" and fault.part not in _parts(t)
        and any("@" in w for w in t.where) and points & {w.partition("@")[2] or w for w in t.where}
    ]  # fmt: skip
    found = [next(iter(group), None) for group in (whole, beside)]
    return [t for t in found if t is not None][:NEIGHBOURS]


def _is_charger(take: Take, engine: Engine) -> bool:
    return engine.installation.parts[take.where[0]].kind == "charger"


def _same(one: FaultAt, other: FaultAt) -> bool:
    return one[:4] == other[:4]


def _parts(take: Take) -> set[str]:
    return {place.partition("@")[0] for place in take.where}


def _lugs(part: str, points: set[str]) -> set[str]:
    return {f"{part}@{point}" for point in points}

"""Turns one entry of a readings file into a `Reading`, and says everything that is wrong with the entry.

Knows the readings form; must not judge whether a value is likely.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from typing import Any

from diagnose.basics.errors import Problem, meant
from diagnose.basics.quantities import QuantityError
from diagnose.basics.readings_text import parse_typed
from diagnose.model.fault import FaultAt
from diagnose.model.reading import QUANTITIES, STATES, Read, Reading, Take
from diagnose.model.words import words_for
from diagnose.store.reading_places import ReadingPlaces, Said
from diagnose.store.yaml_text import Document, Loc

__all__ = ["METERS", "EntryReader"]

METERS = ("multimeter", "test_lamp")
_FURTHER = ("when", "read", "meter", "jumper", "swap", "repaired")
_REPAIRED = ("fault", "part", "at", "to", "size")
_HINT = "write for example {volts: [charger_in, charger_neg], when: engine_running, read: 11.92 V}"


@dataclass
class EntryReader:
    """Reads the entries of one file; `problems` grows with each entry.

    `needs_read` is False where only the expected reading is asked for; `meters` and `faults` are the ids that are known
    (`faults` None: any).
    """

    document: Document
    places: ReadingPlaces
    needs_read: bool = True
    meters: Collection[str] = METERS
    faults: Collection[str] | None = None
    problems: list[Problem] = field(default_factory=list)

    def entry(self, raw: Any, loc: Loc) -> Reading | None:
        """Return the reading at `loc`, or None where it is refused."""
        before = len(self.problems)
        if not isinstance(raw, dict):
            self._say(loc, "this is no reading", _HINT)
            return None
        written = {str(key): value for key, value in raw.items()}
        self._unknown_keys(written, loc, (*QUANTITIES, *_FURTHER))
        reading = self._repaired(written, loc) if "repaired" in written else self._reading(written, loc)
        return reading if len(self.problems) == before else None

    def _reading(self, written: dict[str, Any], loc: Loc) -> Reading | None:
        quantities = [key for key in written if key in QUANTITIES]
        if len(quantities) != 1:
            right = f"one of {', '.join(QUANTITIES)}"
            if quantities:
                self._say((*loc, quantities[1]), "two quantities in one reading", f"write {right}", key=True)
            else:
                self._say(loc, "no quantity", f"write {right}, for example volts: [charger_in, charger_neg]")
            return None
        quantity = quantities[0]
        meter = self._meter(written, loc, quantity)
        where = self._where(written[quantity], (*loc, quantity), quantity)
        take = Take(
            quantity, where, self._when(written, loc, quantity), meter,
            self._jumper(written, loc), self._swap(written, loc),
        )
        if where and quantity == "volts" and take.when == "isolated" and not self.places.own_posts(*where):
            right = "the leads are off: read ohms, or volts across the two posts of one battery"
            self._say((*loc, quantity), "volts between these points mean nothing in isolated", right)
        return Reading(take, self._read(written, loc, quantity, meter))

    def _where(self, raw: Any, loc: Loc, quantity: str) -> tuple[str, ...]:
        """Return the places of a reading; empty where they are refused."""
        if QUANTITIES[quantity][0] == 1:
            if isinstance(raw, dict | list) or raw is None:
                example = "PART@POINT" if quantity in ("tug", "wiggle") else "NAME" if quantity == "lamp" else "PART"
                self._say(loc, f"`{quantity}` is read at one place", f"write {quantity}: {example}")
                return ()
            return (str(raw),) if self._judged(loc, self._judge(quantity, str(raw))) else ()
        return self._pair(raw, loc, quantity)

    def _judge(self, quantity: str, name: str) -> Said | None:
        if quantity == "gravity" and (sealed := self._sealed(name)) is not None:
            return sealed
        return _JUDGES[quantity](self.places, name)

    def _sealed(self, name: str) -> Said | None:
        chemistry = getattr(self.places.installation.parts.get(name), "chemistry", None)
        if chemistry in (None, "flooded", "calcium"):
            return None
        return f"`{name}` is a closed {chemistry} battery", "a hydrometer is for cells that can be opened"

    def _pair(self, raw: Any, loc: Loc, key: str) -> tuple[str, ...]:
        """Return two different places for probes; empty where they are refused."""
        if not isinstance(raw, list) or len(raw) != 2 or any(isinstance(each, dict | list) for each in raw):
            self._say(loc, f"`{key}` needs two places", f"write {key}: [A, B]")
            return ()
        names = tuple(str(each) for each in raw)
        judged = [self._judged((*loc, index), self.places.probe(name)) for index, name in enumerate(names)]
        if all(judged) and names[0] == names[1]:
            self._say((*loc, 1), "both places are the same", "write two different places")
            return ()
        return names if all(judged) else ()

    def _when(self, written: dict[str, Any], loc: Loc, quantity: str) -> str:
        default = "isolated" if quantity == "ohms" else "at_rest"
        when = written.get("when")
        if when is None:
            return default
        if when not in STATES:
            right = meant(str(when), STATES, f"write one of {', '.join(STATES)}")
            self._say((*loc, "when"), f"no state `{when}`", right)
            return default
        if quantity == "ohms" and when != "isolated":
            self._say((*loc, "when"), f"ohms are never read in {when}", "write when: isolated, with all leads off")
        return str(when)

    def _meter(self, written: dict[str, Any], loc: Loc, quantity: str) -> str:
        meter = written.get("meter")
        if meter is None:
            return "multimeter"
        if meter not in self.meters:
            right = meant(str(meter), self.meters, f"write one of {', '.join(self.meters)}")
            self._say((*loc, "meter"), f"no instrument `{meter}`", right)
        elif meter == "test_lamp" and quantity != "volts":
            self._say((*loc, "meter"), f"a test lamp does not read {quantity}", "leave `meter` out, or read volts")
        return str(meter)

    def _jumper(self, written: dict[str, Any], loc: Loc) -> tuple[str, str] | None:
        raw = written.get("jumper")
        if raw is None:
            return None
        if written.get("swap") is not None:
            self._say((*loc, "swap"), "a jumper and a swap at once", "fit one, read, then the other", key=True)
        pair = self._pair(raw, (*loc, "jumper"), "jumper")
        if not pair or not self._judged((*loc, "jumper"), self.places.jumper(*pair)):
            return None
        return (pair[0], pair[1])

    def _swap(self, written: dict[str, Any], loc: Loc) -> str | None:
        raw = written.get("swap")
        if raw is None:
            return None
        return str(raw) if self._judged((*loc, "swap"), self.places.part(str(raw))) else None

    def _read(self, written: dict[str, Any], loc: Loc, quantity: str, meter: str) -> Read | None:
        raw, at = written.get("read"), (*loc, "read")
        if raw is None:
            if self.needs_read:
                self._say(loc, "`read` is missing", "write what was read, or read: skipped")
            return None
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            raw = self.document.raw.get(at, raw)  # as typed, so that 1.10 stays 1.10
        try:
            typed = parse_typed(raw, QUANTITIES[quantity][1], words_for(quantity, meter))
        except QuantityError as error:
            self._say(at, error.what, error.right)
            return None
        if quantity == "ripple" and typed.value is not None and typed.value < 0:
            self._say(at, "ripple is never negative", "write the AC volts the meter shows")
        return Read(typed.kind, typed.text, typed.value, typed.high, typed.word)

    def _repaired(self, written: dict[str, Any], loc: Loc) -> Reading | None:
        """Return a repair; `read` beside it is passed over, since whoever answers a proposal adds it to any."""
        raw, at = written["repaired"], (*loc, "repaired")
        for key in written:
            if key not in ("repaired", "read", "when") and written[key] is not None and key in (*QUANTITIES, *_FURTHER):
                self._say((*loc, key), f"`{key}` beside a repair", "write the reading as an entry of its own", key=True)
        if not isinstance(raw, dict):
            self._say(at, "this is no repair", "write repaired: {fault: open_circuit, part: tray_strap, at: null}")
            return None
        self._unknown_keys(raw, at, _REPAIRED)
        fault, part = raw.get("fault"), raw.get("part")
        if self._named(fault, at, "fault"):
            self._known_fault(str(fault), (*at, "fault"))
        if self._named(part, at, "part") and self._judged((*at, "part"), self.places.part(str(part))):
            self._known_end(raw.get("at"), str(part), (*at, "at"))
        if raw.get("to") is not None:
            self._judged((*at, "to"), self.places.probe(str(raw["to"])))
        end, to = (None if raw.get(key) is None else str(raw[key]) for key in ("at", "to"))
        return Reading(None, None, FaultAt(str(fault), str(part), end, to))

    def _named(self, value: Any, loc: Loc, key: str) -> bool:
        if value is None:
            self._say(loc, f"`{key}` is missing", f"write {key}: and the id of the {key} that was mended", key=True)
        return value is not None

    def _known_fault(self, fault: str, loc: Loc) -> None:
        if self.faults is not None and fault not in self.faults:
            right = meant(fault, self.faults, f"write one of {', '.join(sorted(self.faults))}")
            self._say(loc, f"no fault `{fault}`", right)

    def _known_end(self, end: Any, part: str, loc: Loc) -> None:
        ends = self.places.ends(part)
        if end is not None and end not in ends:
            right = meant(str(end), ends, f"its points are {', '.join(ends)}; null is the part itself")
            self._say(loc, f"`{part}` has no end `{end}`", right)

    def _unknown_keys(self, written: dict[str, Any], loc: Loc, known: Collection[str]) -> None:
        for key in written:
            if key in known:
                continue
            if written[key] is None and key[:1].isdigit():
                right = "in braces a comma separates: write a decimal point, or the value in quotes"
                self._say((*loc, key), f"`{key}` has lost its beginning", right, key=True)
                continue
            right = meant(key, known, f"known here are {', '.join(known)}")
            self._say((*loc, key), f"unknown key `{key}`", right, key=True)

    def _judged(self, loc: Loc, said: Said | None) -> bool:
        if said is not None:
            self._say(loc, *said)
        return said is None

    def _say(self, loc: Loc, what: str, right: str, *, key: bool = False) -> None:
        self.problems.append(self.document.problem(loc, what, right, key=key))


_JUDGES: dict[str, Callable[[ReadingPlaces, str], Said | None]] = {
    "amps": ReadingPlaces.part,
    "celsius": ReadingPlaces.part_or_lug,
    "lamp": ReadingPlaces.lamp,
    "look": ReadingPlaces.part_or_lug,
    "smell": ReadingPlaces.part,
    "works": lambda places, name: places.part(name, ("load", "starter")),
    "tug": ReadingPlaces.lug,
    "wiggle": ReadingPlaces.lug,
    "load_test": lambda places, name: places.part(name, ("battery",)),
    "gravity": lambda places, name: places.part(name, ("battery",)),
}

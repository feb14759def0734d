"""Where a reading can be taken in one installation: its points, lugs, parts and lamps, and what a jumper may join.

Answers a name with None, or with what is wrong and what would be right. Must not know the readings form.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from diagnose.basics.errors import meant
from diagnose.model.installation import Installation
from diagnose.store.part_points import JOINS, NEGATIVE_KEYS, POSITIVE_KEYS, all_points, lugs, points_of

__all__ = ["ReadingPlaces", "Said"]

Said = tuple[str, str]


class ReadingPlaces:
    """The places of one installation; built once, asked for every entry."""

    def __init__(self, installation: Installation) -> None:
        self.installation = installation
        self.lugs = lugs(installation)
        self.points = all_points(installation)
        self._unfused = _groups(self.points, installation, JOINS)
        self._joined = _groups(self.points, installation, (*JOINS, "fuse"))
        self._positive = _touched(installation, POSITIVE_KEYS)
        self._negative = _touched(installation, NEGATIVE_KEYS)

    def probe(self, name: str) -> Said | None:
        """Judge a place for a probe: a point, or a lug `PART@POINT`."""
        if name in self.points or name in self.lugs:
            return None
        if "@" in name:
            return self.lug(name)
        if name in self.installation.parts:
            return f"`{name}` is a part, not a point", f"its points are {', '.join(self._points(name))}"
        right = meant(name, self.points, "write a point of the installation file")
        return f"no point `{name}`", right

    def lug(self, name: str) -> Said | None:
        """Judge a lug `PART@POINT`: only cables and fuses have one at each end."""
        if name in self.lugs:
            return None
        part, at, _ = name.partition("@")
        if not at:
            example = next((lug for lug in self.lugs if lug.startswith(f"{part}@")), next(iter(self.lugs), "a lug"))
            return f"`{name}` names no end", f"write PART@POINT, for example {example}"
        if (wrong := self.part(part)) is not None:
            return wrong
        if self.installation.parts[part].kind not in ("cable", "fuse"):
            kind = self.installation.parts[part].kind
            return f"`{part}` is of kind {kind} and has no lugs", "only cables and fuses have one at each end"
        return f"`{name}` does not exist", f"the ends of `{part}` are {' and '.join(self._points(part))}"

    def part(self, name: str, kinds: Collection[str] = ()) -> Said | None:
        """Judge the name of a part, of one of some kinds where `kinds` is given."""
        parts = self.installation.parts
        if name not in parts:
            if name.partition("@")[0] in parts:
                return f"no part `{name}`", f"write `{name.partition('@')[0]}` without the point"
            fit = [each for each, part in parts.items() if not kinds or part.kind in kinds]
            what = f"`{name}` is a point, not a part" if name in self.points else f"no part `{name}`"
            return what, meant(name, fit, f"write one of {', '.join(fit[:12])}")
        if kinds and parts[name].kind not in kinds:
            return f"`{name}` is of kind {parts[name].kind}", f"this is read of a {' or a '.join(kinds)}"
        return None

    def part_or_lug(self, name: str) -> Said | None:
        """Judge `PART` or `PART@POINT`."""
        return self.lug(name) if "@" in name else self.part(name)

    def lamp(self, name: str) -> Said | None:
        """Judge the name of a charger's indicator: `NAME`, or `PART.NAME` where two chargers have it."""
        known = {
            charger: tuple(part.lamps or ("charging",))
            for charger, part in self.installation.parts.items()
            if part.kind == "charger"
        }
        full = [f"{charger}.{lamp}" for charger, names in known.items() for lamp in names]
        having = [each for each in full if name in (each, each.split(".", 1)[1])]
        if len(having) == 1:
            return None
        if having:
            return f"`{name}` is a lamp of several chargers", f"write {' or '.join(having)}"
        if not full:
            return f"no lamp `{name}`: there is no charger here", "read something else"
        offers = full if len(known) > 1 else [each.split(".", 1)[1] for each in full]
        right = meant(name, offers, f"write one of {', '.join(offers)}")
        return f"no lamp `{name}`", right

    def jumper(self, first: str, second: str) -> Said | None:
        """Judge a jumper between two existing places: not around a fuse, not from positive to negative."""
        a, b = (self.lugs[name][1] if name in self.lugs else name for name in (first, second))
        if {self._polarity(a), self._polarity(b)} == {"positive", "negative"}:
            return "this jumper joins positive to negative", "a jumper joins two points of one run of wire"
        if self._joined[a] == self._joined[b] and self._unfused[a] != self._unfused[b]:
            fuse = self._fuse_between(a, b)
            return f"this jumper bridges {fuse}", "a jumper never bridges a fuse: fit a known-good one with swap:"
        return None

    def own_posts(self, first: str, second: str) -> bool:
        """Whether two points are the two posts of one battery."""
        batteries = (part for part in self.installation.parts.values() if part.kind == "battery")
        return any({first, second} == {part.pos, part.neg} for part in batteries)

    def ends(self, part: str) -> list[str]:
        """Return the points of a part."""
        return self._points(part)

    def _points(self, name: str) -> list[str]:
        return list(dict.fromkeys(point for _, point in points_of(self.installation.parts[name])))

    def _polarity(self, point: str) -> str | None:
        """Return the side of a point: of itself, else of all that wire and fuses join it to, else None."""
        for group in ({point}, {other for other, root in self._joined.items() if root == self._joined[point]}):
            sides = [bool(group & self._positive), bool(group & self._negative)]
            if sum(sides) == 1:
                return "positive" if sides[0] else "negative"
        return None

    def _fuse_between(self, a: str, b: str) -> str:
        """Return the fuse whose two ends a jumper would join, or words for several."""
        sides = {self._unfused[a], self._unfused[b]}
        for name, part in self.installation.parts.items():
            if part.kind == "fuse" and {self._unfused[end] for end in part.ends} == sides:
                return f"the fuse `{name}`"
        return "more than one fuse"


def _touched(installation: Installation, keys: Collection[str]) -> set[str]:
    return {
        point for part in installation.parts.values() for loc, point in points_of(part) if loc[0] in keys
    }


def _joins(installation: Installation, kinds: Collection[str]) -> Iterator[Any]:
    return (part.ends for part in installation.parts.values() if part.kind in kinds and hasattr(part, "ends"))


def _groups(points: Collection[str], installation: Installation, kinds: Collection[str]) -> dict[str, str]:
    """Return point -> a name shared by all points that parts of some kinds join."""
    parent = {point: point for point in points}

    def root(point: str) -> str:
        while parent[point] != point:
            parent[point] = parent[parent[point]]
            point = parent[point]
        return point

    for first, second in _joins(installation, kinds):
        parent[root(first)] = root(second)
    return {point: root(point) for point in points}

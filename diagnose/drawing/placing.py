"""Turns lanes into a picture: rows from the top, and to their left one upright track for the wire of each point.

Letters and boxes keep to the right of all tracks and below each other, so nothing can lie on anything else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from diagnose.basics.quantities import format_span
from diagnose.drawing.lanes import lanes_of
from diagnose.drawing.lettering import broken, text_width
from diagnose.model.installation import Installation, name_of
from diagnose.model.picture import Box, Dot, Label, Note, Picture, Wire
from diagnose.model.terminals import ends_of, points_of

__all__ = ["WIDTH", "picture_of"]

#: width of every picture, distance of tracks, of lines of text, and of rows [units]
WIDTH, TRACK, LINE, GAP, MARGIN = 360.0, 7.0, 13.5, 4.5, 6.0
#: what is told of a part, and of which dimension it is
RATINGS = (("rating", "current"), ("area", "area"), ("length", "length"), ("power", "power"), ("capacity", "capacity"))
_PINS = {"pos": "+", "neg": "-", "input": "input +", "output": "output +", "negative": "negative",
         "ignition": "ignition sense", "solar": "solar +", "profile_lead": "profile lead"}  # fmt: skip


class _Row(NamedTuple):
    """One row: what it is, its lines (text, weight), and where its stubs leave: (point, line number)."""

    kind: str
    name: str
    lines: tuple[tuple[str, str], ...]
    stubs: tuple[tuple[str, int], ...]
    heavy: bool = False


def picture_of(installation: Installation, notes: Mapping[str, Sequence[Note]] | None = None) -> Picture:
    """Return the wiring picture.

    Parameters: `notes`, the words to stand at a point or part, by its id.
    """
    heads = _rows(installation, notes or {}, WIDTH)
    tracks = _tracks(heads)
    left = MARGIN + TRACK * (max(tracks.values(), default=0) + 1) + 6.0
    rows = _rows(installation, notes or {}, WIDTH - left - MARGIN - 12.0)
    return _placed(installation.title, rows, tracks, left)


def _rows(installation: Installation, notes: Mapping[str, Sequence[Note]], width: float) -> list[_Row]:
    lanes = lanes_of(installation)
    rows = [_Row("lane", "", (("POSITIVE RUN", "lane"),), ())]
    rows += [_run(installation, kind, name, notes.get(name, ()), width) for kind, name in lanes.positive]
    rows.append(_Row("lane", "", (("DEVICES", "lane"),), ()))
    rows += [_device(installation, name, notes.get(name, ()), width) for name in lanes.devices]
    rows.append(_Row("lane", "", (("NEGATIVE RUN AND BODY", "lane"),), ()))
    return rows + [_run(installation, kind, name, notes.get(name, ()), width) for kind, name in lanes.negative]


def _noted(notes: Sequence[Note], width: float) -> list[tuple[str, str]]:
    return [(line, "bold" if n.heavy else "plain") for n in notes for line in broken(n.text, width)]


def _run(installation: Installation, kind: str, name: str, notes: Sequence[Note], width: float) -> _Row:
    heavy = any(note.heavy for note in notes)
    if kind == "point":
        lines = [(line, "plain") for line in broken(name_of(name, installation), width)]
        return _Row(kind, name, (*lines, *_noted(notes, width)), ((name, 0),), heavy)
    part = installation.parts[name]
    text = f"{name_of(name, installation)}{_rating(part)}"
    lines = [(line, "bold" if heavy else "plain") for line in broken(text, width)]
    first, second = ends_of(part)
    return _Row(kind, name, (*lines, *_noted(notes, width)), ((first, 0), (second, -1)), heavy)


def _rating(part: object) -> str:
    found = [(getattr(part, key, None), dimension) for key, dimension in RATINGS]
    told = [format_span(span, dimension, 3) for span, dimension in found if span is not None]
    position = ["open"] if getattr(part, "position", "") == "open" else []
    return ", ".join(["", *told, *position])


def _device(installation: Installation, name: str, notes: Sequence[Note], width: float) -> _Row:
    part, heavy = installation.parts[name], any(note.heavy for note in notes)
    lines = [(line, "bold") for line in broken(f"{name_of(name, installation)}{_rating(part)}", width)]
    stubs = []
    for point in points_of(part):
        key = next((word for key, word in _PINS.items() if getattr(part, key, None) == point), "")
        key = key or ("coil" if point in getattr(part, "coil", ()) else "contact")
        stubs.append((point, len(lines)))
        lines += [(line, "plain") for line in broken(f"{key}: {name_of(point, installation)}", width)]
    return _Row("device", name, (*lines, *_noted(notes, width)), tuple(stubs), heavy)


def _tracks(rows: Sequence[_Row]) -> dict[str, int]:
    """Return the track of each point, 0 nearest to the letters; short wires get the near ones."""
    spans: dict[str, tuple[int, int]] = {}
    for number, row in enumerate(rows):
        for point, _ in row.stubs:
            spans[point] = (min(spans.get(point, (number, 0))[0], number), number)
    taken: list[list[tuple[int, int]]] = []
    tracks: dict[str, int] = {}
    for point, (top, end) in sorted(spans.items(), key=lambda item: (item[1][1] - item[1][0], item[1])):
        free = next((k for k, held in enumerate(taken) if all(end < a or b < top for a, b in held)), len(taken))
        if free == len(taken):
            taken.append([])
        taken[free].append((top, end))
        tracks[point] = free
    return tracks


def _placed(title: str, rows: Sequence[_Row], tracks: Mapping[str, int], left: float) -> Picture:
    boxes: list[Box] = []
    labels: list[Label] = []
    taps: dict[str, list[tuple[float, float, bool]]] = {}
    y = MARGIN
    for row in rows:
        boxed = row.kind in ("part", "device")
        pad = 3.0 if boxed else 0.0
        high = LINE * len(row.lines) + 2.0 * pad
        if row.kind == "lane":
            y += GAP
        if boxed:
            boxes.append(Box(row.name, left, y, WIDTH - left - MARGIN, high, row.heavy))
        for number, (text, weight) in enumerate(row.lines):
            labels.append(Label(text, left + 8.0, y + pad + LINE * number + 10.5, text_width(text), weight))
        for point, number in row.stubs:
            at = y + pad + LINE * number + LINE / 2 if number >= 0 else y + high - 4.0
            at -= 4.0 if row.kind == "part" and number == 0 else 0.0
            taps.setdefault(point, []).append((left, at, row.kind == "point"))
        y += high + GAP
    wires, dots = _wired(taps, tracks, left)
    return Picture(title, WIDTH, y + MARGIN, tuple(boxes), tuple(dots), tuple(wires), tuple(labels))


def _wired(
    taps: Mapping[str, Sequence[tuple[float, float, bool]]], tracks: Mapping[str, int], left: float
) -> tuple[list[Wire], list[Dot]]:
    """Return the wires, one upright a point with a stub to each place it serves, and the dots that join them."""
    wires: list[Wire] = []
    dots: list[Dot] = []
    for point, places in taps.items():
        x = left - 6.0 - TRACK * tracks[point]
        ys = sorted(y for _, y, _ in places)
        if ys[0] != ys[-1]:
            wires.append(Wire(point, x, ys[0], x, ys[-1]))
        for end, y, named in places:
            wires.append(Wire(point, x, y, end, y))
            dots += [Dot(end, y, point)] if named else []
            dots += [Dot(x, y)] if ys[0] < y < ys[-1] else []
    return wires, dots

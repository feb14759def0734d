"""The wiring picture of every layout: nothing lies on anything else, every point stands in it, every wire is square."""

from functools import cache
from itertools import combinations

import pytest

from diagnose.drawing.lettering import broken
from diagnose.drawing.placing import picture_of
from diagnose.model.installation import Installation, name_of
from diagnose.model.picture import Label, Note, Picture
from diagnose.model.terminals import points_of
from diagnose.store.installations import layout_ids, load_layout

LAYOUTS = layout_ids()
Area = tuple[float, float, float, float]


def area(label: Label) -> Area:
    return (label.x, label.y - 10.0, label.x + label.width, label.y + 3.0)


def meets(one: Area, other: Area) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@cache
def drawn(layout: str) -> tuple[Installation, Picture]:
    installation = load_layout(layout)
    parts = {name: [Note("FAULT: high resistance", True), Note("12. drop 0.4 V, engine running " * 3)]
             for name in installation.parts}  # fmt: skip
    return installation, picture_of(installation, parts)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_nothing_lies_on_anything_else(layout: str) -> None:
    _, picture = drawn(layout)
    labels = [area(label) for label in picture.labels]
    boxes = [(b.x, b.y, b.x + b.width, b.y + b.height) for b in picture.boxes]
    assert len(labels) > 20
    assert not [pair for pair in combinations(labels, 2) if meets(*pair)]
    assert not [pair for pair in combinations(boxes, 2) if meets(*pair)]
    for label in labels:
        assert 0 <= label[0] < label[2] <= picture.width
        assert label[3] <= picture.height
        for box in boxes:
            inside = box[0] <= label[0] and label[2] <= box[2] and box[1] <= label[1] and label[3] <= box[3]
            assert inside or not meets(label, box)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_wires_are_square_and_keep_clear_of_boxes_and_letters(layout: str) -> None:
    _, picture = drawn(layout)
    solid = [area(label) for label in picture.labels]
    solid += [(b.x, b.y, b.x + b.width, b.y + b.height) for b in picture.boxes]
    for wire in picture.wires:
        assert wire.x1 == wire.x2 or wire.y1 == wire.y2
        assert wire.x1 >= 0
        line = (min(wire.x1, wire.x2), wire.y1 - 0.1, max(wire.x1, wire.x2), wire.y2 + 0.1)
        assert not [place for place in solid if meets(line, place)]


def test_earth_that_a_relay_coil_ends_on_stands_in_the_negative_run() -> None:
    picture = picture_of(load_layout("relay_pair"))
    devices = next(label.y for label in picture.labels if label.text == "DEVICES")
    below = {dot.point for dot in picture.dots if dot.point and dot.y > devices}
    assert {"coil_neg", "chassis", "engine", "start_neg"} <= below
    assert not {"coil_pos", "relay_in", "relay_out"} & below


def test_number_and_unit_stay_on_one_line() -> None:
    assert broken("joint at stud: 0.007\u00a0V", 110) == ["joint at stud:", "0.007\u00a0V"]
    assert broken("joint at stud: 0.007 V", 130) == ["joint at stud: 0.007", "V"]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_uprights_of_two_points_never_run_into_each_other(layout: str) -> None:
    _, picture = drawn(layout)
    uprights = [w for w in picture.wires if w.x1 == w.x2 and w.y1 != w.y2]
    for one, other in combinations(uprights, 2):
        assert one.x1 != other.x1 or one.y2 < other.y1 or other.y2 < one.y1


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_point_and_part_is_there_and_wired(layout: str) -> None:
    installation, picture = drawn(layout)
    points = {*installation.points, *(p for part in installation.parts.values() for p in points_of(part))}
    assert {dot.point for dot in picture.dots if dot.point} == points
    assert sorted(box.part for box in picture.boxes) == sorted(installation.parts)
    said = " ".join(label.text for label in picture.labels)
    assert [point for point in points if name_of(point, installation) not in said] == []
    for box in picture.boxes:
        ends = [w for w in picture.wires if w.x2 == box.x and box.y <= w.y2 <= box.y + box.height and w.y1 == w.y2]
        assert {w.point for w in ends} == set(points_of(installation.parts[box.part]))
    assert all(box.heavy for box in picture.boxes)

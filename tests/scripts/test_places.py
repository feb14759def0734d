"""What is called the same is told apart by its place, on every layout, in words that an owner knows."""

from __future__ import annotations

import pytest

from diagnose.circuit.topology import parts_near
from diagnose.scripts.wording import Wording
from diagnose.store.installations import layout_ids, load_layout
from diagnose.store.rules import load_rules
from diagnose.store.script_words import load_script_words

WORDS = load_script_words()


def wording(layout: str) -> Wording:
    installation = load_layout(layout)
    return Wording(installation, load_rules(), WORDS, True, {}, (installation,))


@pytest.mark.parametrize("layout", layout_ids())
def test_no_two_things_that_an_owner_looks_at_have_the_same_name(layout: str) -> None:
    words = wording(layout)
    names: dict[str, list[str]] = {}
    for name, part in words.installation.parts.items():
        if part.kind in WORDS.caller.looks_at:
            names.setdefault(words.placed(name), []).append(name)
    # both ends of a wire may be bolts: where such a one runs is said on the card below
    same = {text: parts for text, parts in names.items() if len(parts) > 1 and "," in text}
    assert len(names) > 8
    assert not same, same
    assert not any(set(text.replace(",", "").split()) & set(WORDS.trade) - {"side"} for text in names), names


def test_a_fuse_is_told_by_what_it_is_nearest_to() -> None:
    words = wording("camper_trailer")
    assert words.named("input_fuse") == words.named("house_fuse") == "the fuse marked 30"
    assert words.placed("input_fuse") == "the fuse marked 30 near the engine battery"
    assert words.placed("house_fuse") == "the fuse marked 30 near the second battery"
    assert words.placed("lights_fuse") == "the fuse marked 5", "the only one of its kind needs no place"


def test_where_only_one_of_two_is_nearest_to_anything_the_other_is_far_from_it() -> None:
    words = wording("motorhome_variable")
    near, far = words.placed("house_battery"), words.placed("second_battery")
    assert near == "the second battery near the charging box"
    assert far == "the second battery far from the charging box"


def test_wires_between_the_same_things_are_told_by_their_side() -> None:
    words = wording("portable_panel")
    plus, minus = words.placed("socket_cable"), words.placed("socket_return")
    assert plus == "the thin wire, panel's plug plus to charging box"
    assert minus == "the thin wire, panel's plug minus to charging box"


def test_parts_are_near_along_the_positive_side_alone() -> None:
    """The body joins everything; it makes nothing near."""
    installation = load_layout("crew_cab_tray")
    near = parts_near(installation, "input_fuse", ("battery", "load", "charger"))
    assert near["start_battery"] == 0
    assert near["charger"] > 0
    assert "house_battery" not in near, "the charger lies between"

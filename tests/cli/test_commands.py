"""`expect` and `rank` from outside the process: exit status, where words go, and what is said of good and bad input."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[2]
LAYOUT = "solar_only_van"  # the smallest: quickest to rank


class Case(NamedTuple):
    """One call: its arguments, a file it reads or the text of a pipe, its status, and what must stand where."""

    words: Sequence[str]
    status: int
    out: Sequence[str] = ()
    err: Sequence[str] = ()
    file: str | None = None
    typed: str | None = None


DANGER = "readings:\n  - {volts: [house_pos, house_neg], when: sun_only, read: 15.60 V}\n"
BAD = """\
complaint: solar does nothing
readings:
  - {volts: [house_pos, house_ngg], when: sun_only, read: 12.6 V}
  - {amps: house_battery, when: sun_onyl, read: 3 A}
  - {volts: [house_pos, house_neg], read: 12.6 A}
"""
ANSWERS = "solar does nothing\nhelp\nvolts house_pos house_neg 12.3 at_rest\nvolts nowhere house_neg 1 V\nback\n"
CASES = {
    "expect, for a person": Case(
        ["expect", LAYOUT, "house_pos", "house_neg"], 0, ["volts house_pos house_neg (at rest)", "sound: 1", "middle"]
    ),
    "expect, as JSON with a fault": Case(
        ["expect", LAYOUT, "house_pos", "house_neg", "--json", "--fault",
         '{"fault": "discharged", "part": "house_battery", "size": "11.2 V"}'],
        0, ['"schema": "diagnose/expected/1"', '"part": "house_battery"', '"size": 11.2'],
    ),
    "expect, a point that is none": Case(
        ["expect", LAYOUT, "house_pos", "house_ngg"], 2, err=["house_ngg", "did you mean house_neg?"]
    ),
    "expect, a fault that is none": Case(
        ["expect", LAYOUT, "house_pos", "house_neg", "--fault", '{"fault": "blwn", "part": "house_fuse"}'],
        2, err=["--fault: unknown fault `blwn`, did you mean blown?"],
    ),
    "expect, no file": Case(["expect", "no_such_layout", "a", "b"], 2, err=["no_such_layout"]),
    "rank, a danger": Case(
        ["rank", LAYOUT, "--readings", "FILE", "--json"], 3, ['"because": "danger"', '"next": []'], file=DANGER
    ),
    "rank, every defect of a file at once": Case(
        ["rank", LAYOUT, "--readings", "FILE"], 2,
        err=[":3:", "house_ngg", ":4:", "sun_onyl", "did you mean sun_only?", ":5:", "A is no unit of voltage"],
        file=BAD,
    ),
    "expect, an empty name": Case(
        ["expect", "", "house_pos"], 2, err=["FILE: no installation is named, give a file, or a layout: boat_bus_bar"],
    ),
    "rank, an unknown tool": Case(
        ["rank", LAYOUT, "--tools", "eyes,multimetr"], 2,
        err=["--tools: `multimetr` is no tool, did you mean multimeter?"],
    ),
    "rank, answers from a list": Case(
        ["rank", LAYOUT, "--answers", "FILE", "--tools", "eyes"], 0,
        ["What is the complaint?", "Type what was measured", "taken: volts house_pos house_neg",
         "the last reading is dropped", "0 readings used.", "the input ended"],
        file=ANSWERS,
    ),
    "rank, readings typed into a pipe": Case(
        ["rank", LAYOUT, "--tools", "eyes", "--json"], 0, ['"readings_used": 1', '"schema": "diagnose/ranking/1"'],
        ["Reading 1?", "taken: volts house_pos house_neg, sun only: 12.4"],
        typed="none\nvolts house_pos house_neg 12.4 sun_only\ndone\n",
    ),
    "rank, why not": Case(
        ["rank", LAYOUT, "--readings", "FILE", "--why-not", "discharged house_battery"], 0,
        ["discharged house_battery: ", "It would come back if"],
        file="readings:\n  - {volts: [house_pos, house_neg], when: at_rest, read: 12.75 V}\n",
    ),
    "rank, why not a suspect that is none": Case(
        ["rank", LAYOUT, "--readings", "FILE", "--why-not", "blown charger"], 2,
        err=["--why-not: no suspect `blown charger`, write a fault and a part"], file="readings: []\n",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_status_and_words(case: Case, tmp_path: Path) -> None:
    file = tmp_path / "given.yaml"
    if case.file is not None:
        file.write_text(case.file, encoding="utf-8")
    words = [str(file) if word == "FILE" else word for word in case.words]
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", *words, "--no-cache"],
        cwd=ROOT, input=case.typed or "", capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert done.returncode == case.status, done.stderr
    for part in case.out:
        assert part in done.stdout
    for part in case.err:
        assert part in done.stderr
    if case.status == 2:
        assert done.stdout == ""
        assert all(": " in line and ", " in line for line in done.stderr.splitlines())
    elif case.typed is None:
        assert done.stderr == ""
    assert "Traceback" not in done.stderr
    if "--json" in words:
        assert json.loads(done.stdout)["schema"].startswith("diagnose/")


@pytest.mark.slow
def test_the_cache_changes_no_byte_and_is_used(tmp_path: Path) -> None:
    file = tmp_path / "readings.yaml"
    file.write_text("readings:\n  - {volts: [house_pos, house_neg], when: at_rest, read: 12.75 V}\n", encoding="utf-8")
    cache = tmp_path / "cache"

    def ranked(*more: str) -> str:
        done = subprocess.run(
            [sys.executable, "-m", "diagnose", "rank", LAYOUT, "--readings", str(file), "--json", *more],
            cwd=ROOT, capture_output=True, text=True, timeout=60, env=os.environ | {"DIAGNOSE_CACHE": str(cache)},
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return done.stdout

    without = ranked("--no-cache")
    assert not cache.exists()
    first = ranked()
    kept = {entry.name: entry.read_bytes() for entry in cache.iterdir()}
    assert len(kept) == 2  # the rules, and the predictions
    assert ranked() == first == without
    assert {entry.name: entry.read_bytes() for entry in cache.iterdir()} == kept
    for name, data in kept.items():
        (cache / name).write_bytes(data[: len(data) // 2])
    assert ranked() == without

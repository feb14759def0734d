"""How the first ranking grows with the parts of an installation: one charger, ever more fused loads: processor time."""

from __future__ import annotations

from collections.abc import Iterator
from time import process_time
from typing import Any

from diagnose.inference.ranking import Engine, Question
from diagnose.model.installation import Installation
from tests.evaluation.small import small_installation
from tests.inference.engines import TOOLS, rule_base, volts

__all__ = ["figures"]

#: parts of each installation
SIZES = (30, 60, 120, 300)


def fused(parts: int) -> Installation:
    """Return an installation of about so many parts: the small one, and branches of a fuse, a cable and a load."""
    made: dict[str, Any] = {}
    known = small_installation().model_dump(mode="json", exclude_unset=True)["parts"]
    for number in range((parts - len(known)) // 3):
        made[f"fuse_{number}"] = {"kind": "fuse", "ends": ["house_pos", f"feed_{number}"], "rating": "10 A",
                                  "style": "blade"}  # fmt: skip
        made[f"cable_{number}"] = {"kind": "cable", "ends": [f"feed_{number}", f"load_{number}"], "area": "2.5 mm2",
                                   "length": "2 m"}  # fmt: skip
        made[f"load_of_{number}"] = {"kind": "load", "pos": f"load_{number}", "neg": "chassis", "resistance": "40 ohm"}
    small = small_installation()
    more = Installation.model_validate({"title": "branches", "parts": made}).parts
    return small.model_copy(update={"parts": {**small.parts, **more}})


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    took = []
    readings = (volts("start_pos", "chassis", 13.9), volts("house_pos", "chassis", 12.5))
    for size in SIZES:
        engine = Engine(fused(size), *rule_base())
        begun = process_time()
        engine.rank(Question(readings, None, TOOLS))
        took.append(process_time() - begun)
        what = f"first ranking with two readings, {len(engine.installation.parts)} parts"
        yield f"{what}, {len(engine.hypotheses)} hypotheses", f"{took[-1]:.1f} s", ""
    times = SIZES[-1] / SIZES[0]
    yield f"that growth for {times:.0f} x the parts", f"{took[-1] / took[0]:.1f} x", ""

"""Every fault of the rule base in every layout answers the walk to its end; run as a module for the whole table.

    .venv/bin/python -m tests.session.proof [--double] [LAYOUT ...]

One place of each fault is drawn by a fixed seed, again where nobody could notice it. It takes some seconds a walk.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.evaluation.population import Case, Garage, Story
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.session.events import Event
from diagnose.session.steps import Finding
from diagnose.session.walk import Session
from diagnose.store.installations import layout_ids
from tests.session.drivers import TOOLS, Bench, adviser, hypotheses, rule_base
from tests.session.test_vehicles import fair

__all__ = ["Walked", "drawn", "share_proved", "walk_of"]

SEED = 31
#: places that are tried before a fault counts as one that nobody can notice there
TRIES = 6


class Walked(NamedTuple):
    """One walk: what was hidden, what was mended, how it ended, how many tests were asked for."""

    layout: str
    hidden: tuple[Hypothesis, ...]
    mended: int
    in_vain: int
    finding: Finding
    tests: int

    @property
    def proved(self) -> bool:
        """Whether every fault was mended and the last repair proved."""
        return self.mended == len(self.hidden) and self.finding.because == "repaired"


def drawn(layout: str, faults: int = 1) -> Iterator[Case]:
    """Yield a vehicle for every kind of fault that can be noticed on a layout; further faults are of other kinds."""
    installation = adviser(layout).installation
    garage = Garage(layout, installation, *rule_base(), SEED, Story(0.0, 0.0, faults, TOOLS))
    for kind in sorted({h.fault.fault for h in hypotheses(layout) if h.fault is not None}):
        for number in range(TRIES):
            chance = np.random.default_rng([SEED, number, *kind.encode()])
            pool = [h for h in hypotheses(layout) if h.fault is not None and h.fault.fault == kind]
            own = pool[int(chance.integers(len(pool)))].fault
            assert own is not None
            others = [h.fault for h in hypotheses(layout) if h.fault is not None and h.fault.place != own.place]
            more = [others[int(chance.integers(len(others)))] for _ in range(faults - 1)]
            case = Case(number, layout, int(chance.integers(2**31)), (own, *more), None)
            if garage._counts(case):
                yield case._replace(complaint=garage.complaint(case, chance))
                break


def walk_of(case: Case) -> Walked:
    """Walk one vehicle to the end, with another look after the first where two faults are hidden, and check what holds
    for every walk.
    """
    by_fault = {h.fault: h for h in hypotheses(case.layout)}
    hidden = tuple(by_fault[f] for f in case.faults)
    bench = Bench(case.layout, hidden[0], case.seed, TOOLS, hidden[1:], case.complaint or "")
    session = Session(adviser(case.layout))
    finding = bench.walk(session, 120)
    left = {f.place for f in case.faults} - {f.place for f in bench.mended}
    if left and len(hidden) > 1 and finding.because != "danger":  # whoever uses it notices that it is still not right
        session.feed(Event("reopen"))
        finding = bench.walk(session, 120)
    fair(bench, finding)
    places = {f.place for f in bench.mended}
    mended = sum(f.place in places for f in case.faults)
    tests = sum(each.ask.kind in ("test", "again") for each in bench.asked)
    return Walked(case.layout, hidden, mended, len(places) - mended, finding, tests)


def share_proved(walks: Sequence[Walked]) -> float:
    """Return the share of walks that ended with everything mended and proved, or stopped for a danger."""
    return sum(walk.proved or walk.finding.because == "danger" for walk in walks) / len(walks)


def main(names: list[str]) -> None:
    """Print a line for each walk that did not end in a proved repair, and the shares by layout that did or that
    stopped for a danger.
    """
    faults = 2 if "--double" in names else 1
    walks: list[Walked] = []
    for layout in [n for n in names if n != "--double"] or layout_ids():
        own = []
        for case in drawn(layout, faults):
            own.append(walk_of(case))
            if not own[-1].proved:
                hidden = " and ".join(h.label for h in own[-1].hidden)
                print(f"  {hidden}, {case.complaint}: {own[-1].finding.because}, {own[-1].tests} tests, "
                      f"{own[-1].in_vain} repairs in vain", flush=True)  # fmt: skip
        print(f"{layout}: {share_proved(own):.3f} of {len(own)} proved or stopped", flush=True)
        walks += own
    ends = Counter(walk.finding.because for walk in walks)
    tests = sorted(walk.tests for walk in walks)
    print(f"all: {share_proved(walks):.3f} of {len(walks)} proved or stopped; "
          f"{sum(w.mended > 0 for w in walks) / len(walks):.3f} with a true place mended; "
          f"{sum(w.in_vain for w in walks)} repairs in vain; tests {tests[len(tests) // 2]} in the middle, "
          f"{tests[-1]} at most; ends {dict(ends)}")  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1:])

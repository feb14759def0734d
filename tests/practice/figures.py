"""Works out the figures of the library's cases; run as a module to write `cases/practice_figures.yaml`.

    .venv/bin/python -m tests.practice.figures [--all | ID ...]

Cases whose file has not changed are kept as they are, unless they are named: name all after a change of the engine.
It takes ten seconds to two minutes a case.
"""

from __future__ import annotations

import random
import sys
import zlib
from functools import cache
from pathlib import Path

from diagnose.evaluation.meter import Meter
from diagnose.evaluation.textbook import follow
from diagnose.inference.complaints import match_complaint
from diagnose.inference.ranking import Question
from diagnose.practice.examiner import Examiner
from diagnose.practice.game import vehicle_of
from diagnose.practice.policy import level_of, played, solved, suspects_after
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.store.practice_cases import LoadedPractice, case_paths, load_practice_case, load_practice_rules
from diagnose.store.practice_figures import CaseFigures, load_figures, write_figures
from diagnose.store.textbook import load_textbook
from tests.inference.engines import rule_base

#: vehicles that fit the story, beside the case's own
OTHERS = 2


@cache
def loaded(path: Path) -> LoadedPractice:
    return load_practice_case(path, rule_base()[0], load_practice_rules())


_ENGINES: dict[str, Examiner] = {}


def examiner_of(case: LoadedPractice) -> Examiner:
    """Return the examiner of a case; cases of one installation share what is worked out."""
    key = repr(case.installation)
    if key not in _ENGINES:
        _ENGINES.clear()
        _ENGINES[key] = Examiner(case.installation, *rule_base(), None, case.case.tools)
    return _ENGINES[key].turned(case.case.complaint, case.case.tools)


def others(case: LoadedPractice, examiner: Examiner, count: int) -> list[tuple[list[Hypothesis], int]]:
    """Return vehicles that fit the story: faults drawn from the belief after the complaint, each with a seed."""
    chance = random.Random(zlib.crc32(case.case.id.encode()))
    belief = examiner.believe(Question((), case.case.complaint, case.case.tools))
    drawn = chance.choices(range(len(examiner.hypotheses)), belief.posterior.tolist(), k=count)
    return [([examiner.hypotheses[n]] if n else [], chance.randrange(1, 2**31)) for n in drawn]


def figures_of(case: LoadedPractice, count: int = OTHERS) -> CaseFigures:
    """Return the figures of one case."""
    rules, tables = rule_base()
    examiner = examiner_of(case)
    vehicle = vehicle_of(case.installation, rules, tables, case.hidden, case.case.seed)
    own = played(examiner, vehicle, case.lies)
    minutes = [own.minutes]
    for hidden, seed in others(case, examiner, count):
        other = vehicle_of(case.installation, rules, tables, hidden, seed)
        try:
            minutes.append(played(examiner, other).minutes)
        except RuntimeError:
            continue
    first = examiner.after(())
    places = list(dict.fromkeys(e.fault.place for e in first.faults))
    ranks = [places.index(h.fault.place) + 1 for h in case.hidden if h.fault and h.fault.place in places]
    suspects = suspects_after(first)
    meter = Meter(vehicle)
    complaint = match_complaint(case.case.complaint, rules)
    follow(load_textbook(), meter, complaint.id if complaint is not None else None)
    level = level_of(case.case, suspects, own.depth, max(ranks, default=0))
    well = solved(own, [h.fault for h in case.hidden if h.fault is not None])
    return CaseFigures(
        digest=case.digest, level=level, best_minutes=round(sum(minutes) / len(minutes), 2),
        own_minutes=round(own.minutes, 2), textbook_minutes=round(meter.minutes, 2), suspects=suspects,
        depth=own.depth, vehicles=len(minutes), solved=well,
    )  # fmt: skip


def main(names: list[str]) -> None:
    """Work out what is missing or changed, or the cases that are named."""
    known = load_figures()
    names = [path.stem for path in case_paths()] if names == ["--all"] else names
    cases = [loaded(path) for path in case_paths() if not names or path.stem in names]
    for case in sorted(cases, key=lambda c: c.installation.title):
        name = case.case.id
        if name not in names and name in known and known[name].digest == case.digest:
            continue
        known = load_figures() | {name: figures_of(case)}
        write_figures(known)
        print(name, known[name], flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])

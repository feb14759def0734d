"""Reads practice cases: the file's form, its installation, its hidden faults, and the readings in it that lie.

Everything wrong in a case is gathered and raised at once, with its place. It must not judge whether a case can be
solved, and must not play it.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import NamedTuple

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.basics.quantities import QuantityError, parse_span
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.practice import CaseFault, PracticeCase, PracticeRules
from diagnose.model.reading import Read, Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses
from diagnose.store.data_folder import cases_folder, rules_folder
from diagnose.store.installations import installation_from_mapping
from diagnose.store.practice_seal import unsealed
from diagnose.store.reading_entry import EntryReader
from diagnose.store.reading_places import ReadingPlaces
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["LoadedPractice", "case_path", "case_paths", "load_practice_case", "load_practice_rules"]

_DIMENSIONS = ("resistance", "voltage", "area", "capacity", "current", "temperature")
_TOOLS = ("multimeter", "clamp", "eyes", "hands", "thermometer", "test_lamp", "load_tester", "hydrometer")


class LoadedPractice(NamedTuple):
    """A case with its installation, its hidden faults, the readings that lie, and a digest of its file."""

    case: PracticeCase
    installation: Installation
    hidden: tuple[Hypothesis, ...]
    lies: dict[Take, Read]
    digest: str


def case_paths(folder: Path | None = None) -> tuple[Path, ...]:
    """Return the files of the library, sorted."""
    return tuple(sorted((folder or cases_folder() / "practice").glob("*.yaml")))


def case_path(name: str) -> Path:
    """Return the file of a case given by its file or by its id.

    Raises: BadInput where there is no such case.
    """
    if Path(name).is_file():
        return Path(name)
    known = {path.stem: path for path in case_paths()}
    if name in known:
        return known[name]
    right = meant(name, known, "give a file, or an id that `diagnose cases` lists")
    raise BadInput([Problem("CASE", None, None, f"no case `{name[:60]}`", right)])


def load_practice_rules() -> PracticeRules:
    """Return the skills and the points of the score, `rules/practice.yaml`.

    >>> "earth_paths" in load_practice_rules().skills
    True
    """
    return validated(PracticeRules, read_yaml(rules_folder() / "practice.yaml", "rules/practice.yaml"))


def load_practice_case(path: Path, rules: RuleBase, skills: PracticeRules) -> LoadedPractice:
    """Return a case.

    Raises: BadInput with every defect and its place.
    """
    document = read_yaml(path)
    case = validated(PracticeCase, document)
    if case.sealed is not None:
        case = _opened(case, document)
    installation = installation_from_mapping(case.installation, document, ("installation",))
    problems: list[Problem] = []
    for number, skill in enumerate(case.teaches):
        if skill not in skills.skills:
            right = meant(skill, skills.skills, f"write one of {', '.join(skills.skills)}")
            problems.append(document.problem(("teaches", number), f"no skill `{skill}`", right))
    for number, tool in enumerate(case.tools):
        if tool not in _TOOLS:
            right = meant(tool, _TOOLS, f"write one of {', '.join(_TOOLS)}")
            problems.append(document.problem(("tools", number), f"`{tool}` is no tool", right))
    hypotheses = all_hypotheses(installation, rules)
    known: dict[tuple[object, ...], Hypothesis] = {h.fault[:4]: h for h in hypotheses if h.fault is not None}
    hidden = [_hidden(fault, number, known, rules, document, problems) for number, fault in enumerate(case.faults)]
    reader = EntryReader(document, ReadingPlaces(installation))
    lies = [reader.entry(dict(raw), ("misread", number)) for number, raw in enumerate(case.misread)]
    if problems := problems + reader.problems:
        raise BadInput(problems)
    pairs = {r.take: r.read for r in lies if r is not None and r.take is not None and r.read is not None}
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return LoadedPractice(case, installation, tuple(h for h in hidden if h is not None), pairs, digest)


def _opened(case: PracticeCase, document: Document) -> PracticeCase:
    """Return a case with what its seal holds put in."""
    try:
        inside = unsealed(case.sealed or "", case.id)
        return PracticeCase.model_validate({**case.model_dump(), **inside, "sealed": None})
    except ValueError:
        right = "get the case again from whoever made it"
        raise BadInput([document.problem(("sealed",), "the seal of this case is broken", right)]) from None


def _hidden(
    fault: CaseFault, number: int, known: dict[tuple[object, ...], Hypothesis], rules: RuleBase, document: Document,
    problems: list[Problem],
) -> Hypothesis | None:  # fmt: skip
    """Return the hypothesis of a fault, or None with a problem said where it cannot be."""
    place = ("faults", number)
    found = known.get((fault.fault, fault.part, fault.at, fault.to))
    if found is None or found.fault is None:
        ends = [key for key in known if key[:2] == (fault.fault, fault.part)]
        if fault.fault not in rules.faults:
            right = meant(fault.fault, rules.faults, f"write one of {', '.join(rules.faults)}")
            problems.append(document.problem((*place, "fault"), f"no fault `{fault.fault}`", right))
        elif ends:
            right = "write " + " or ".join(f"at: {k[2]}" + (f", to: {k[3]}" if k[3] else "") for k in ends[:6])
            problems.append(document.problem(place, f"{fault.fault} does not sit at `{fault.at}` there", right))
        else:
            parts = sorted({str(key[1]) for key in known if key[0] == fault.fault})
            right = f"write one of {', '.join(parts[:12])}"
            problems.append(document.problem((*place, "part"), f"no {fault.fault} at `{fault.part}`", right))
        return None
    size = None
    if fault.size is not None:
        size = _size(fault.size)
        if size is None:
            right = "write a number with its unit, for example 0.09 ohm"
            problems.append(document.problem((*place, "size"), f"`{fault.size}` is no size", right))
    return Hypothesis(FaultAt(*found.fault[:4], size), found.rule, 1.0)


def _size(text: str) -> float | None:
    """Return a size [unit of the fault's rule] given as text with its unit, or as a bare share."""
    for dimension in _DIMENSIONS:
        try:
            return float(parse_span(text, dimension).mid)
        except QuantityError:
            continue
    try:
        return float(text)
    except ValueError:
        return None

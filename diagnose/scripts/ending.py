"""The end of a path in words: what was found, what the owner is told, who comes with what, what is not done meanwhile.

It words a decision that was taken; a diagnosis that is not proved is never told to an owner.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.model.installation import name_of
from diagnose.model.script import Costs, End, Suspect
from diagnose.scripts.deciding import THOUGHT_OF, Decision, part_for, size_of
from diagnose.scripts.outcomes import Grains
from diagnose.scripts.wording import Wording
from diagnose.session.cautions import for_complaint, for_repair

__all__ = ["Told", "end_of"]

#: suspects named at an end, and the least chance of one; sizes named of one part
MOST, LEAST, SIZES = 5, 0.01, 4
#: suspects named in the one sentence of an end at most
NAMED = 3
#: chance of what an owner can put right alone from which on that is called likely
SOLVED = 0.5


class Told(NamedTuple):
    """What is thought at an end: belief (hypotheses,) with `unlisted`, in each of the versions (versions,), what is
    decided by it, and which hypotheses (hypotheses,) may be `named`.
    """

    belief: Array
    unlisted: float
    versions: Array
    decision: Decision
    named: NDArray[np.bool_]


def end_of(because: str, told: Told, grains: Grains, wording: Wording, complaint: str) -> End:
    """Return one end.

    Parameters: `because`, a word of a ranking's stop, or `unusable`.
    """
    belief, unlisted, _, decision, named = told
    suspects = _suspects(np.where(named, belief, 0.0), grains, wording)
    kinds = {wording.installation.parts[s.fault.part].kind for s in suspects}
    closing = wording.told(wording.words.closing)
    solved = decision.owner is not None and decision.alone >= SOLVED and because != "danger"
    said = wording.words.ends["solved" if solved else because]
    return End(
        "tests_spent" if because == "unusable" else because, suspects, float(belief[0]), unlisted,
        f"{said.says} {_fits(suspects) if because == 'danger' else _how_sure(suspects, float(belief[0]), unlisted)}"
        .rstrip(), decision.send,
        closing.needed if decision.send else closing.not_needed,
        tuple(_bring(name, told, grains, wording) for name in decision.bring) if decision.send else (),
        _tools(decision, wording) if decision.send else (), _tell(said.tell, because, told, grains, wording),
        _costs(decision), round(decision.minutes) if decision.send else 0.0,
        _photos(wording) if decision.send and because != "danger" else (),
        _of(wording.words.meanwhile, kinds, wording), _not_safe(because, suspects, wording),
        _cautions(suspects, complaint, wording),
    )  # fmt: skip


def _suspects(belief: Array, grains: Grains, wording: Wording) -> tuple[Suspect, ...]:
    found: list[Suspect] = []
    for row in np.argsort(-belief, kind="stable").tolist():
        fault, rule = grains.hypotheses[row].fault, grains.hypotheses[row].rule
        if fault is None or rule is None or len(found) >= MOST or (found and belief[row] < LEAST):
            continue
        where = f"{name_of(fault.part, wording.installation)}"
        where += f", its end at {name_of(fault.at, wording.installation)}" if fault.at else ""
        where += f", gone to {name_of(fault.to, wording.installation)}" if fault.to else ""
        found.append(Suspect(fault, f"{rule.name}, {where}", float(belief[row])))
    return tuple(found)


def _how_sure(suspects: Sequence[Suspect], sound: float, unlisted: float) -> str:
    """Return what is left and how sure, for staff; what is too little to be named is counted together."""
    named = [s for s in suspects[:NAMED] if s.probability >= THOUGHT_OF]
    parts = [f"nothing wrong {_percent(sound)}", *(f"{s.name} {_percent(s.probability)}" for s in named)]
    rest = 1.0 - sound - sum(s.probability for s in named)
    if unlisted >= THOUGHT_OF:
        rest -= unlisted
        parts.append(f"something that is not known here {_percent(unlisted)}")
    if rest >= THOUGHT_OF:
        parts.append(f"all else together {_percent(rest)}")
    return f"Left: {'; '.join(parts)}."


def _fits(suspects: Sequence[Suspect]) -> str:
    """Return what a sign of danger fits, for staff; nothing where it fits nothing that is thought of."""
    parts = [f"{s.name} {_percent(s.probability)}" for s in suspects[:NAMED] if s.probability >= THOUGHT_OF]
    return f"It fits: {'; '.join(parts)}." if parts else ""


def _percent(chance: float) -> str:
    return f"{round(100 * chance)} %"


def _bring(name: str, told: Told, grains: Grains, wording: Wording) -> str:
    """Return one item of the van list, with the sizes of all suspects that need it, in all versions still thought of.
    """
    sizes: dict[str, float] = {}
    fitted = [(one, float(share)) for one, share in zip(wording.fitted, told.versions, strict=True) if share > LEAST]
    for chance, hypothesis in zip(told.belief.tolist(), grains.hypotheses, strict=True):
        fault = hypothesis.fault
        if fault is None or chance <= 0.002 or part_for(hypothesis, wording.installation) != name:
            continue
        for installation, share in fitted:
            size = size_of(name, fault, installation) if fault.part in installation.parts else None
            if size is not None:
                sizes[size] = sizes.get(size, 0.0) + chance * share
    likeliest = sorted(sizes, key=lambda s: (-sizes[s], s))[:SIZES]
    likeliest.sort(key=lambda size: size.endswith("fuses"))  # a cable's size among those of fuses is hard to read
    return wording.words.bring[name].format(sizes=", ".join(likeliest) or "the sizes fitted")


def _tools(decision: Decision, wording: Wording) -> tuple[str, ...]:
    tools = wording.words.tools
    return tuple(dict.fromkeys([*tools["always"], *(t for name in decision.bring for t in tools.get(name, ()))]))


def _tell(line: str, because: str, told: Told, grains: Grains, wording: Wording) -> tuple[str, ...]:
    """Return three lines for the owner as a text message."""
    closing, decision = wording.told(wording.words.closing), told.decision
    if because == "danger":
        then = closing.danger
    elif decision.send:
        then = closing.repair
    else:
        then = closing.nothing if decision.owner is None else _owner_acts(decision.owner, told, grains, wording)
    return line, then, wording.words.not_safe["always"]


def _owner_acts(name: str, told: Told, grains: Grains, wording: Wording) -> str:
    """Return what an owner does alone, at the likeliest thing first, then at whatever else it may well be."""
    held: dict[str, float] = {}
    for chance, hypothesis in zip(told.belief.tolist(), grains.hypotheses, strict=True):
        if hypothesis.fault is not None and hypothesis.fault.fault == name:
            thing = wording.placed(hypothesis.fault.part)
            held[thing] = held.get(thing, 0.0) + chance
    things = sorted(held, key=lambda thing: -held[thing])
    things = things[:1] + [thing for thing in things[1:] if held[thing] >= THOUGHT_OF]
    return wording.words.owner_can[name].format(thing=", then ".join(things))


def _costs(decision: Decision) -> Costs:
    visit, none = (round(c) for c in decision.costs)
    says = f"a visit costs about {visit} min in all; no visit about {none} min, since a second call may follow"
    return Costs(float(visit), float(none), f"{says} (no published figure: judgement)")


def _photos(wording: Wording) -> tuple[str, ...]:
    """Return what a caller is asked to send a picture of; who is at the vehicle sees it."""
    if not wording.owner:
        return ()
    fitted = {part.kind for part in wording.installation.parts.values()}
    return tuple(text for kind, text in wording.words.photos.items() if kind in fitted)


def _of(texts: Any, kinds: Iterable[str], wording: Wording) -> tuple[str, ...]:
    own = set(kinds) | {"always"}
    if any(part.kind == "supply" for part in wording.installation.parts.values()):
        own.add("mains")
    return tuple(text for key, text in texts.items() if key in own)


def _not_safe(because: str, suspects: Sequence[Suspect], wording: Wording) -> tuple[str, ...]:
    """Return when it is not safe to drive or charge."""
    own = {"always", because} | {s.fault.fault for s in suspects if s.probability >= THOUGHT_OF}
    if any(getattr(part, "chemistry", "") == "lfp" for one in wording.fitted for part in one.parts.values()):
        own.add("lfp")
    return tuple(text for key, text in wording.words.not_safe.items() if key in own)


def _cautions(suspects: Sequence[Suspect], complaint: str, wording: Wording) -> tuple[str, ...]:
    """Return the cautions of the complaint and of the likeliest repair."""
    ids = list(for_complaint(complaint, wording.rules))
    if suspects:
        ids += [name for one in wording.fitted for name in for_repair(suspects[0].fault, one, wording.rules)]
    known = [wording.rules.cautions[name] for name in dict.fromkeys(ids)]
    return tuple(caution.brief for caution in known)

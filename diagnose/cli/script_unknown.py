"""What `diagnose script --unknown` names: the questions about what is fitted, and the versions of the installation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.scripts.versions import matters_in, versions_of
from diagnose.store.installation_checks import check_installation
from diagnose.store.unknowns import load_unknowns

if TYPE_CHECKING:
    from diagnose.model.unknowns import Unknown
    from diagnose.scripts.compiling import Sources

__all__ = ["with_unknown"]


def with_unknown(sources: Sources, named: Sequence[str], folder: Path) -> Sources:
    """Return the sources of a script with what is not known of the installation.

    Parameters: `named`, ids of unknowns, several of them between commas, or `all`: all that the installation has parts
    for; `folder`, the rule base.
    Raises: BadInput where a name is none, or where the installation has no such part.
    """
    known = load_unknowns(folder)
    fits = {name: one for name, one in known.items() if matters_in(one, sources.installation)}
    words = list(dict.fromkeys(word.strip() for text in named for word in text.split(",")))
    problems = [_refused(word, known, fits) for word in words if word != "all" and word not in fits]
    if problems:
        raise BadInput(problems)
    chosen = {name: one for name, one in fits.items() if "all" in words or name in words}
    versions = versions_of(sources.installation, chosen)
    for version in versions:
        for _, what, right in check_installation(version.installation, {}):
            said = ", ".join(f"{name} {word}" for name, word in version.answers.items())
            problems.append(Problem("--unknown", None, None, f"with {said}: {what}", right))
    if problems:
        raise BadInput(problems[:1])
    return sources._replace(unknowns=chosen, versions=versions)


def _refused(word: str, known: Mapping[str, Unknown], fits: Mapping[str, Unknown]) -> Problem:
    offered = f"one of {', '.join((*fits, 'all'))}" if fits else "leave --unknown out: nothing is open here"
    if word in known:
        return Problem("--unknown", None, None, f"`{word}` is no question here: there is no such part", offered)
    right = meant(word, (*fits, "all") if fits else (), offered)
    return Problem("--unknown", None, None, f"`{word[:60]}` is no unknown", right)

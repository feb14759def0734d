"""What both commands load: the installation named on the command line, the rule base, a fault given as JSON, typed
readings.

Everything is imported when it is needed, since a command's help must not wait for it.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.basics.errors import BadInput, Problem

if TYPE_CHECKING:
    from diagnose.model.figures import Tables
    from diagnose.model.installation import Installation
    from diagnose.model.reading import Reading
    from diagnose.model.rules import RuleBase
    from diagnose.prediction.hypotheses import Hypothesis
    from diagnose.store.rule_folders import RuleFolders

__all__ = [
    "chosen_tools", "entry_reading", "fault_from_json", "figures", "installation_named", "rule_base", "rules_named",
]  # fmt: skip


def rules_named(name: str | None) -> RuleFolders:
    """Return the folders of the rules: those that ship, or what `--rules` names over them or in their place."""
    from diagnose.store.rule_folders import rule_folders

    return rule_folders(name)


def installation_named(name: str, rules: RuleFolders | None = None) -> Installation:
    """Return the installation of a file, or of a layout of the rules where no such file exists."""
    from diagnose.store.installations import layout_ids, load_installation, load_layout

    if not name.strip():
        right = f"give a file, or a layout: {', '.join(layout_ids(rules))}"
        raise BadInput([Problem("FILE", None, None, "no installation is named", right)])
    if not Path(name).exists() and name in layout_ids(rules):
        return load_layout(name, rules)
    return load_installation(name, rules)


def rule_base(cache: bool = True, rules: RuleFolders | None = None) -> RuleBase:
    """Return the rules beside the tables of figures, from the cache folder if that may be used."""
    from diagnose.store.rules_kept import kept_rules

    return kept_rules(rules, cache)


def figures(rules: RuleFolders | None = None) -> Tables:
    """Return the tables of figures, once it has been said on standard error whose rules hold, if not those that ship.

    It is said here because every answer needs the figures, and after the rules have been read.
    """
    import typer

    from diagnose.store.rule_folders import as_folders
    from diagnose.store.tables import load_tables

    folders = as_folders(rules)
    tables = load_tables(folders)
    if (told := folders.told()) is not None:
        typer.echo(told, err=True)
    return tables


def chosen_tools(text: str | None) -> tuple[str, ...]:
    """Return the tools of a comma-separated list, or those most people carry."""
    from diagnose.basics.errors import meant
    from diagnose.inference.candidates import ALL_TOOLS

    if text is None:
        return ("multimeter", "clamp", "eyes", "hands")
    tools = tuple(t.strip() for t in text.split(",") if t.strip())
    problems = []
    for tool in tools:
        if tool not in ALL_TOOLS:
            right = meant(tool, ALL_TOOLS, f"one of {', '.join(ALL_TOOLS)}")
            problems.append(Problem("--tools", None, None, f"`{tool}` is no tool", right))
    if problems or not tools:
        raise BadInput(
            problems or [Problem("--tools", None, None, "no tool is named", f"one of {', '.join(ALL_TOOLS)}")]
        )
    return tools


def entry_reading(entry: dict[str, Any], installation: Installation, name: str, needs_read: bool = True) -> Reading:
    """Return one reading given as the readings form has it; `name` stands for the file in messages."""
    from diagnose.store.readings import readings_from_document
    from diagnose.store.yaml_text import yaml_document

    document = yaml_document(json.dumps({"readings": [entry]}), name)
    try:
        return readings_from_document(document, installation, needs_read=needs_read).readings[0]
    except BadInput as error:
        raise BadInput([p._replace(line=None, column=None) for p in error.problems]) from None


def fault_from_json(text: str, installation: Installation, rules: RuleBase) -> Hypothesis:
    """Return the fault that `--fault` names, as JSON of the ranking form; `size` is text with unit, or an object."""
    from diagnose.basics.errors import meant
    from diagnose.model.fault import FaultAt
    from diagnose.prediction.hypotheses import Hypothesis

    def refuse(what: str, right: str) -> BadInput:
        return BadInput([Problem("--fault", None, None, what, right)])

    example = 'write for example {"fault": "open_circuit", "part": "tray_strap", "at": null}'
    try:
        form = json.loads(text)
    except (ValueError, RecursionError):
        raise refuse("this is no JSON", example) from None
    if not isinstance(form, dict) or not {"fault", "part"} <= set(form):
        raise refuse("`fault` and `part` are needed", example)
    for key, known in (("fault", rules.faults), ("part", installation.parts)):
        if form[key] not in known:
            right = meant(str(form[key]), known, f"one of {', '.join(known)}")
            raise refuse(f"unknown {key} `{form[key]}`", right)
    rule, part = rules.faults[form["fault"]], installation.parts[form["part"]]
    places = [p for p in rule.sits_at if part.kind in p.kinds]
    if not places:
        raise refuse(
            f"{rule.id} does not sit at a {part.kind}", f"one of {', '.join(k for p in rule.sits_at for k in p.kinds)}"
        )
    at = form.get("at")
    ends = tuple(getattr(part, "ends", ()))
    wanted = {p.where for p in places}
    if at is not None and (at not in ends or ("termination" not in wanted and rule.change != "move_end")):
        raise refuse(
            f"`{at}` is no end of {form['part']} where {rule.id} can sit",
            f"one of {', '.join(map(str, (None, *ends)))}",
        )
    if at is None and wanted == {"termination"}:
        raise refuse(f"{rule.id} sits at an end of {form['part']}", f"give `at`: {' or '.join(ends)}")
    if rule.change == "move_end" and (at is None or not form.get("to")):
        raise refuse("a wrong connection needs `at` and `to`", 'for example {"at": "start_pos", "to": "house_pos"}')
    size = _size(form.get("size"), refuse)
    return Hypothesis(FaultAt(rule.id, form["part"], at, form.get("to"), size), rule, 1.0)


def _size(raw: Any, refuse: Any) -> float | None:
    """Return a size given as text with its unit, as a number, or as the ranking's object."""
    from diagnose.basics.quantities import QuantityError, parse_span

    if isinstance(raw, dict):
        raw = raw.get("value")
    if raw is None or (isinstance(raw, int | float) and not isinstance(raw, bool)):
        return None if raw is None else float(raw)
    for dimension in ("resistance", "voltage", "area", "capacity", "current", "temperature"):
        try:
            return float(parse_span(raw, dimension).mid)
        except QuantityError:
            continue
    try:
        return float(raw)
    except (TypeError, ValueError):
        raise refuse(f"`{raw}` is no size", "write a number with its unit, for example 0.09 ohm") from None

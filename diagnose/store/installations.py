"""Loads an installation: from a file, from a layout of the rule base, or from a mapping inside another file.

Everything wrong is gathered and raised at once, each defect in the file that wrote it. Must not calculate.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.model.installation import Installation, Point
from diagnose.store.installation_checks import check_installation
from diagnose.store.layout_merge import Layered, merge
from diagnose.store.part_points import all_points
from diagnose.store.rule_folders import RuleFolders, as_folders
from diagnose.store.validation import problems_of
from diagnose.store.yaml_text import Document, Loc, read_yaml

__all__ = ["installation_from_mapping", "layout_ids", "load_installation", "load_layout"]

_MOST = 2000  # parts, points or zones: ten times what the largest vehicle has
_FOLLOWS = ("missing", "union_tag_not_found")  # what is said of a file whose layout was not found


def load_installation(path: Path | str, rules: RuleFolders | None = None) -> Installation:
    """Return the installation a file describes.

    Parameters: `path` of a YAML file; `rules`, whose layouts may be named, those that ship unless given.
    Returns: the installation with its layout merged in and with every point, named by its id where it has no name.
    Raises: BadInput with every defect and its place.
    """
    document = read_yaml(path)
    return _finished(document.data, document, (), rules)


def load_layout(layout: str, rules: RuleFolders | None = None) -> Installation:
    """Return the installation of a layout of the rule base.

    Parameters: `layout`, its id; `rules`, those that ship unless given.
    Raises: BadInput where there is no such layout, or where it is defective.
    """
    document = _layout_document(layout, rules)
    if document is None:
        raise BadInput([Problem(f"layout {layout[:60]}", None, None, *_unknown_layout(layout, rules))])
    return _finished(document.data, document, (), rules)


def installation_from_mapping(
    data: Any, document: Document, loc: Loc, rules: RuleFolders | None = None
) -> Installation:
    """Return the installation that stands inside another file: the id of a layout, or a mapping.

    Parameters: `data`, what stands there; `document` and `loc`, where it stands, for the places of problems; `rules`,
    those that ship unless given. Defects of the reading of `document` itself are the caller's to report.
    """
    if isinstance(data, str):
        layout = _layout_document(data, rules)
        if layout is None:
            raise BadInput([document.problem(loc, *_unknown_layout(data, rules))])
        return _finished(layout.data, layout, (), rules)
    return _finished(data, document, loc, rules)


def layout_ids(rules: RuleFolders | None = None) -> tuple[str, ...]:
    """Return the ids of the layouts of the rule base, sorted."""
    return as_folders(rules).stems("layouts")


def _layout_document(layout: str, rules: RuleFolders | None) -> Document | None:
    """Return the file of a layout, or None for anything that is not the bare id of one."""
    if re.fullmatch(r"[a-z][a-z0-9_]*", layout) is None or layout not in layout_ids(rules):
        return None
    return as_folders(rules).read(f"layouts/{layout}.yaml", f"layout {layout}")


def _unknown_layout(layout: str, rules: RuleFolders | None) -> tuple[str, str]:
    known = layout_ids(rules)
    shown = f"`{layout[:60]}`"
    if re.search(r"[/\\.]", layout):
        return f"the layout {shown} is a path", f"write a bare id: {', '.join(known)}"
    right = meant(layout, known, f"write one of {', '.join(known)}")
    return f"no layout {shown}", right


def _finished(data: Any, document: Document, start: Loc, rules: RuleFolders | None) -> Installation:
    """Return the installation of plain data, or raise everything that is wrong with it."""
    layers = Layered(document, start)
    problems: list[Problem] = [] if start else list(document.problems)
    if not isinstance(data, dict):
        right = "write keys such as title:, points: and parts:"
        raise BadInput([*problems, layers.problem((), "this is no installation", right)])
    base, found = _base(data, layers, rules)
    layers = layers._replace(base=base)
    problems += found
    for section in ("parts", "points", "zones"):
        if isinstance(data.get(section), dict | list) and len(data[section]) > _MOST:
            crowd = layers.problem((section,), f"more than {_MOST} {section}", "describe one vehicle", key=True)
            raise BadInput([*problems, crowd])
    merged, found = merge(data, base.data if base is not None else {}, layers)
    installation, found_in_form = _checked(merged, layers)
    problems += [*found, *found_in_form]
    if problems or installation is None:
        raise BadInput(problems)
    return _with_points(installation)


def _base(data: dict[str, Any], layers: Layered, rules: RuleFolders | None) -> tuple[Document | None, list[Problem]]:
    """Return the document of the layout that is named, and the problems with it."""
    layout = data.get("layout")
    if layout is None:
        return None, []
    document = _layout_document(str(layout), rules)
    if document is None:
        return None, [layers.problem(("layout",), *_unknown_layout(str(layout), rules))]
    if not isinstance(document.data, dict):
        return None, [document.problem((), "this is no installation", "write keys such as title: and parts:")]
    problems = list(document.problems)
    if document.data.get("layout") is not None:
        problems.append(document.problem(("layout",), "a layout that starts from a layout", "write it out"))
    return document, problems


def _checked(merged: dict[str, Any], layers: Layered) -> tuple[Installation | None, list[Problem]]:
    """Return the record with the problems of its form and of what must hold between its parts."""
    problems: list[Problem] = []
    refused: dict[str, Any] = {}
    whole = layers.base is not None or merged.get("layout") is None
    if not whole:
        merged = {"title": "untitled", "parts": {}, **merged}
        del merged["layout"]
    try:
        installation: Installation | None = Installation.model_validate(merged)
    except ValidationError as error:
        problems += problems_of(error, Installation, layers, leave_out=() if whole else _FOLLOWS)
        installation, refused = _sound_rest(merged, error)
        whole = whole and all(detail["loc"] != ("parts",) for detail in error.errors(include_url=False))
    if installation is not None:
        findings = check_installation(installation, refused, whole=whole)
        problems += [layers.problem(loc, what, right) for loc, what, right in findings]
    return installation, problems


def _sound_rest(merged: dict[str, Any], error: ValidationError) -> tuple[Installation | None, dict[str, Any]]:
    """Return the record of what is right in form, so that the rest is checked too, and the parts left out."""
    rest: dict[str, Any] = {"title": "untitled", **merged}
    refused: dict[str, Any] = {}
    for detail in error.errors(include_url=False):
        section, *below = detail["loc"]
        if below and isinstance(rest.get(str(section)), dict):
            entries = dict(rest[str(section)])
            left_out = entries.pop(below[0], None)
            if section in ("points", "zones") and "[key]" not in below:
                entries[below[0]] = {}  # the name of a zone or a point is still known
            rest[str(section)] = entries
            refused |= {str(below[0]): left_out} if section == "parts" and left_out is not None else {}
        else:
            rest[str(section)] = {"title": "untitled", "parts": {}}.get(str(section))
    try:
        return Installation.model_validate({key: value for key, value in rest.items() if value is not None}), refused
    except ValidationError:
        return None, refused


def _with_points(installation: Installation) -> Installation:
    """Return the installation with a record for every point, each with a name."""
    points = {name: installation.points.get(name, Point()) for name in sorted(all_points(installation))}
    named = {
        name: point if point.name else point.model_copy(update={"name": name.replace("_", " ")})
        for name, point in points.items()
    }
    return installation.model_copy(update={"points": named})

"""What is kept of an evaluation: a file of lines, the first the terms of the run, then one vehicle a line.

Knows the form of the file, not what is done with it. What does not fit is refused with its line, all at once.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import ConfigDict, TypeAdapter, ValidationError

from diagnose.basics.errors import BadInput, Problem
from diagnose.evaluation.comparing import Kept, Terms, Vehicle
from diagnose.store.new_file import write_new

__all__ = ["KEPT", "load_kept", "write_kept"]

#: name of the form, in the first line
KEPT = "diagnose/vehicles/1"
_LARGEST, _MOST = 64 << 20, 20
_FINITE = ConfigDict(allow_inf_nan=False)
_TERMS, _VEHICLE = TypeAdapter(Terms, config=_FINITE), TypeAdapter(Vehicle, config=_FINITE)


def write_kept(path: str, kept: Kept, force: bool) -> None:
    """Write what is kept of a run.

    Raises: BadInput where a file is there and may stay, or where it cannot be written.
    """
    head = {"schema": KEPT, **kept.terms._asdict()}
    lines = [head, *(_plain(vehicle) for vehicle in kept.vehicles)]
    write_new(path, "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines), force)


def load_kept(path: str) -> Kept:
    """Return what was kept of a run.

    Raises: BadInput where it cannot be read, is of another form, or is damaged, with each line that is.
    """
    lines = _content(path).splitlines()
    problems: list[Problem] = []
    head = _line(path, 1, lines[0] if lines else "", problems)
    right = "give a file that `diagnose evaluate --keep` wrote"
    if not isinstance(head, dict) or head.pop("schema", None) != KEPT:
        raise BadInput([Problem(path, 1, 1, "these are no vehicles of an evaluation", right)])
    terms = _form(path, 1, _TERMS, head, problems)
    vehicles = []
    for number, line in enumerate(lines[1:], 2):
        data = _line(path, number, line, problems)
        vehicle = _form(path, number, _VEHICLE, data, problems) if data is not None else None
        if vehicle is not None:
            vehicles.append(vehicle)
        if len(problems) >= _MOST:
            break
    if not vehicles and not problems:
        problems.append(Problem(path, 1, 1, "it holds no vehicle", right))
    if problems or terms is None:
        raise BadInput(problems)
    return Kept(terms, tuple(vehicles))


def _plain(vehicle: Vehicle) -> dict[str, Any]:
    case = vehicle.case
    return vehicle._asdict() | {"case": case._asdict() | {"faults": [fault._asdict() for fault in case.faults]}}


def _content(path: str) -> str:
    try:
        with Path(path).open("rb") as stream:
            content = stream.read(_LARGEST + 1)
        if len(content) > _LARGEST:
            raise BadInput([Problem(path, None, None, "this is too large", "keep fewer vehicles with --n")])
        return content.decode("utf-8")
    except UnicodeDecodeError:
        what = "this is no text"
    except (OSError, ValueError) as error:
        what = f"cannot be read ({getattr(error, 'strerror', None) or 'unknown reason'})"
    raise BadInput([Problem(path, None, None, what, "give a file that `diagnose evaluate --keep` wrote")])


def _line(path: str, number: int, line: str, problems: list[Problem]) -> Any:
    try:
        return json.loads(line, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        problems.append(Problem(path, number, error.colno, "this line is damaged", "evaluate again, or restore it"))
    except (ValueError, RecursionError):
        problems.append(Problem(path, number, 1, "this line is damaged", "evaluate again, or restore it"))
    return None


def _no_number(word: str) -> Any:
    raise ValueError(f"{word} is no number")


def _form(path: str, number: int, form: TypeAdapter[Any], data: Any, problems: list[Problem]) -> Any:
    try:
        return form.validate_python(data)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"]) or "this line"
        problems.append(Problem(path, number, 1, f"`{where}` does not fit", "evaluate again, or restore it"))
    return None

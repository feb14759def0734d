"""Where jobs are kept, and what each of them holds: its first line, its events, and the installation it is of.

The folder is the one named, else `DIAGNOSE_JOBS`, else `charge-path-diagnose/jobs` in the platform's folder for a
person's data; never the current folder unasked. How lines are written is the business of `jobs_record`.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from pydantic import ValidationError

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.model.installation import Installation, Known
from diagnose.session.events import Event
from diagnose.store.commissioning_jobs import is_commissioning, load_commissioning
from diagnose.store.installations import installation_from_mapping, load_layout
from diagnose.store.jobs_form import Malformed, event_from
from diagnose.store.jobs_record import FORMAT, Lines, read_lines
from diagnose.store.jobs_rules import rules_entry
from diagnose.store.platform_folder import data_below
from diagnose.store.rule_folders import RuleFolders
from diagnose.store.yaml_text import yaml_document

__all__ = [
    "Job", "first_line", "installation_of", "job_name", "job_path", "jobs_folder", "list_jobs", "load_job",
]  # fmt: skip

_SUFFIX = ".jsonl"


class Job(NamedTuple):
    """A job: its id, file, first line, events, where it stands, and whether a torn last line was dropped from it.

    `changed` [s since 1970] is when the file last grew; `answered`, how many answers are kept;
    `states`, where each event led when it was told, empty where the record does not say so of all.
    """

    id: str
    path: Path
    head: dict[str, Any]
    events: tuple[Event, ...]
    state: str
    torn: bool
    changed: float
    answered: int = 0
    states: tuple[str, ...] = ()


def jobs_folder(named: str | None, environment: Mapping[str, str], platform: str = sys.platform) -> Path:
    """Return the folder of jobs; makes nothing.

    Raises: BadInput for a person without a home folder who named none.

    >>> jobs_folder(None, {"HOME": "/home/kim"}, "linux").as_posix()
    '/home/kim/.local/share/charge-path-diagnose/jobs'
    """
    return data_below(named, "--jobs", "jobs", environment, platform)


def first_line(
    installation: Installation, name: str, text: str | None, version: str, seed: int, begun: str,
    rules: RuleFolders | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Return the first line of a record: everything that is needed to take the job up again anywhere.

    Parameters: `name` of a layout or a file; `text` of an installation that was described on the spot, None where a
    file or a layout says it; `begun`, the date as people write it; `rules`, those that hold.
    """
    if text is None and Path(name).exists():
        text = Path(name).read_text(encoding="utf-8", errors="replace")
    return {
        "format": FORMAT, "version": version, **rules_entry(rules), "title": installation.title, "begun": begun,
        "installation": name, "text": text, "seed": seed,
        **({"measured": measured} if (measured := installation.model_dump(mode="json")["measured"]) else {}),
    }  # fmt: skip


def job_path(job: str, folder: Path) -> Path:
    """Return the file of a job named by its id or by its path.

    Raises: BadInput where there is no such job.
    """
    if job.endswith(_SUFFIX) or os.sep in job:
        return Path(job)
    path = folder / f"{job}{_SUFFIX}"
    if path.exists():
        return path
    known = [file.stem for file in folder.glob(f"*{_SUFFIX}")] if folder.is_dir() else []
    right = meant(job, known, "`diagnose jobs` lists them")
    raise BadInput([Problem(job, None, None, f"there is no such job in {folder}", right)])


def load_job(path: Path, lines: Lines | None = None) -> Job:
    """Return a job from its file.

    Parameters: `path`; `lines`, if they were read already.
    Raises: BadInput where it is damaged, of a later form, or holds nothing.
    """
    lines = read_lines(path) if lines is None else lines
    if not lines.data:
        raise BadInput([Problem(str(path), 1, 1, "this record holds nothing yet", "begin a new job: diagnose walk")])
    head = lines.data[0]
    if not isinstance(head, dict) or not isinstance(head.get("format"), int):
        raise BadInput([Problem(str(path), 1, 1, "this is no job record", "name a job that `diagnose jobs` lists")])
    if head["format"] > FORMAT:
        raise BadInput([Problem(str(path), 1, 1, "this record is of a later program", "use the later program")])
    if is_commissioning(head):
        name = shlex.quote(str(path))  # its file, as it may lie outside the folder of jobs
        right = f"diagnose commission --resume {name}, or diagnose report {name}"
        raise BadInput([Problem(str(path), 1, 1, "this is the record of a commissioning, not of a walk", right)])
    events = []
    for number, data in enumerate(lines.data[1:], 2):
        try:
            events.append(event_from(data))
        except Malformed as error:
            raise BadInput([Problem(str(path), number, 1, str(error), "restore the record from a copy")]) from None
    last = lines.data[-1]
    state = str(last.get("state", "alarm")) if len(lines.data) > 1 else "alarm"
    said = [data.get("state") for data in lines.data[1:]]
    states = tuple(one for one in said if isinstance(one, str))
    states = states if len(states) == len(said) else ()
    return Job(path.stem, path, head, tuple(events), state, lines.torn, path.stat().st_mtime, len(events), states)


class _Kept(Protocol):
    """A record of either kind: its id and its first line."""

    @property
    def id(self) -> str: ...

    @property
    def head(self) -> dict[str, Any]: ...


def installation_of(job: _Kept, rules: RuleFolders | None = None) -> Installation:
    """Return the installation of a walk or a commissioning, as it was described when the job began.

    Parameters: `rules`, by which the job goes: a layout is theirs.
    """
    text = job.head.get("text")
    if text is None:
        installation = load_layout(str(job.head.get("installation")), rules)
    else:
        document = yaml_document(str(text), f"{job.id}, the installation")
        installation = installation_from_mapping(document.data, document, ())
    measured = job.head.get("measured")
    return installation if measured is None else _with_measured(installation, measured, job.id)


def _with_measured(installation: Installation, measured: Any, job: str) -> Installation:
    """Return the installation with the baseline that a walk was begun with."""
    try:
        known = {str(place): Known.model_validate(data) for place, data in measured.items()}
    except (AttributeError, ValidationError):
        known = None
    if known is None or any(place.partition("@")[0] not in installation.parts for place in known):
        right = "restore the record from a copy"
        raise BadInput([Problem(f"{job}, the baseline", 1, 1, "this is no baseline of the installation", right)])
    return installation.model_copy(update={"measured": known})


def job_name(title: str) -> str:
    """Return what the jobs of an installation are called, before their number.

    >>> job_name("Crew-cab tray utility, No. 2")
    'crew_cab_tray_utility_no_2'
    """
    words = re.findall(r"[a-z0-9]+", title.lower())
    return "_".join(words)[:40].strip("_") or "job"


def list_jobs(folder: Path) -> tuple[tuple[Job | None, str], ...]:
    """Return the jobs of a folder, the last changed first, each with what is wrong with it, if anything."""
    found: list[tuple[Job | None, str]] = []
    files = list(folder.glob(f"*{_SUFFIX}")) if folder.is_dir() else []
    for path in sorted(files, key=lambda file: (-file.stat().st_mtime, file.name)):
        try:
            found.append((_listed(path), ""))
        except BadInput as error:
            found.append((None, error.problems[0].text()))
    return tuple(found)


def _listed(path: Path) -> Job:
    """Return a job for a list: a walk, or a commissioning, whose answers are only counted."""
    lines = read_lines(path)
    if not (lines.data and is_commissioning(lines.data[0])):
        return load_job(path, lines)
    kept, changed = load_commissioning(path, lines), path.stat().st_mtime
    return Job(kept.id, path, kept.head, (), "commissioning", kept.torn, changed, len(kept.events))

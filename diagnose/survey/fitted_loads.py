"""Puts the loads as told in the place of the layout's: found again by name, added, or taken away with their cables."""

from __future__ import annotations

from diagnose.model.survey import Answer, LoadAnswer
from diagnose.survey.draft import Draft
from diagnose.survey.layout import Parts
from diagnose.survey.told_loads import load_id

__all__ = ["fit_loads"]


def fit_loads(draft: Draft, answer: Answer, origin: str) -> tuple[dict[str, float], list[str]]:
    """Write the loads that were told; return their hours a day [h] by name, and notes for the reader.

    Loads that were not told (Enter, not known) stay as in the layout.
    """
    if answer.origin != "answered" or isinstance(answer.value, str):
        return {}, []
    here = {name: part for name, part in draft.layout.items() if part["kind"] == "load"}
    hours: dict[str, float] = {}
    notes: list[str] = []
    kept: set[str] = set()
    for load in answer.value:
        name = _match(load, here, kept)
        if name is not None:
            draft.put(f"{name}.power", load.power, "answered")
            draft.put(f"{name}.resistance", None, "its watts were told")
        else:
            name = _free_name(load_id(load.name), draft)
            posts = {key: draft.parts["house_battery"][key] for key in ("pos", "neg")}
            keys = {"kind": "load", **posts, "power": load.power, "name": load.name}
            draft.replace(name, keys, "answered; its own fuse and cable were not asked, so it stands at the posts")
            notes.append(f"{name} is drawn at the battery's posts: describe its fuse and cable")
        kept.add(name)
        if load.hours is not None:
            hours[name] = load.hours
    for name in here:
        if name not in kept:
            draft.remove(name, "not among the loads told")
    return hours, notes


def _match(load: LoadAnswer, here: Parts, taken: set[str]) -> str | None:
    """Return the load of the layout that is meant: by its id, its name, or the last word of either."""
    told = load_id(load.name)
    names = {name: {name, load_id(str(part.get("name", name)))} for name, part in here.items() if name not in taken}
    exact = [name for name, known in names.items() if told in known]
    if exact:
        return exact[0]
    last = _stem(told)
    close = [name for name, known in names.items() if last in {_stem(each) for each in known}]
    return close[0] if len(close) == 1 else None


def _stem(name: str) -> str:
    word = name.rpartition("_")[2]
    return word.removesuffix("s") if len(word) > 3 else word


def _free_name(name: str, draft: Draft) -> str:
    """Return a name that no part has or had."""
    taken = draft.parts.keys() | draft.layout.keys()
    if name not in taken:
        return name
    return next(f"{name}_load{number}" for number in ("", *range(2, 100)) if f"{name}_load{number}" not in taken)

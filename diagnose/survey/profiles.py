"""The profiles of a surveyed charger: the one for this battery, the others the layout has, and what picks them.

Where a lead picks the profile, each profile needs a place that lead can be tied to; what the survey cannot know of
the others is said, not hidden.
"""

from __future__ import annotations

from typing import Any

from diagnose.model.survey import Answers, Survey, SurveyField
from diagnose.survey.draft import Draft

__all__ = ["set_profiles"]

_NOTHING = "nothing"
_LEAD, _END, _CABLE = "charger_profile", "profile_end", "profile_cable"


def set_profiles(draft: Draft, survey: Survey, answers: Answers, field: SurveyField, origin: str) -> list[str]:
    """Write the profiles of the charger, and its profile lead; return what the reader must look up.

    Parameters: `draft`; `survey` and `answers`; `field`, the charge voltage, and where its value comes from.
    """
    charger = draft.layout["charger"]
    name = _profile_name(survey, answers)
    lead = answers.get("profile_lead")
    word = str(lead.value) if lead is not None else "none"
    ties = {"output": charger["output"], "negative": charger["negative"], "nothing": _NOTHING}
    tie = ties.get(word)
    chosen = {"name": name, "voltage": str(answers[field.id].value)} | ({"tied_to": tie} if tie is not None else {})
    others = [dict(profile) for profile in charger["profiles"] if profile["name"] != name]
    others = _tied(others, [place for place in ties.values() if place != tie]) if tie else [_untied(p) for p in others]
    draft.put("charger.profiles", [chosen, *others], f"{name}: {origin}; the others: as in the layout")
    draft.put("charger.profile", name, "goes with the chemistry")
    _set_lead(draft, tie, "" if lead is None else lead.origin)
    if tie is None or not others:
        return []
    return ["where the profile lead goes for the other profiles was not asked: see the charger's papers"]


def _profile_name(survey: Survey, answers: Answers) -> str:
    chemistry = survey.choices["chemistries"][str(answers["second_chemistry"].value)]
    return str(chemistry.profile)


def _untied(profile: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in profile.items() if key != "tied_to"}


def _tied(profiles: list[dict[str, Any]], places: list[str]) -> list[dict[str, Any]]:
    """Return profiles each tied to a place of its own, as in the layout where that is free; no more than places."""
    free = list(places)
    tied: list[dict[str, Any]] = []
    for profile in sorted(profiles, key=lambda one: one.get("tied_to") not in places):
        if not free:
            break
        place = profile["tied_to"] if profile.get("tied_to") in free else free[0]
        free.remove(place)
        tied.append({**_untied(profile), "tied_to": place})
    return tied


def _set_lead(draft: Draft, tie: str | None, answered: str) -> None:
    """Fit, move or take away the lead that picks the profile."""
    said = {"answered": "answered", "not_known": "not known: as in the layout"}
    origin = said.get(answered, "Enter: as in the layout")
    had = draft.layout["charger"].get("profile_lead")
    if tie is None:
        draft.put("charger.profile_lead", None, f"{origin}: no profile lead")
        return
    lead = str(had or _LEAD)
    end = _END if tie == _NOTHING else tie
    if had is None:
        draft.points[lead] = {"name": "charger profile lead terminal"}
        draft.put("charger.profile_lead", lead, origin)
        draft.replace(
            _CABLE, {"kind": "cable", "ends": [lead, end], "area": "0.5 to 1.5 mm2", "length": "0.1 to 0.5 m"},
            "drawn as is usual; size and length were not asked",
        )  # fmt: skip
    elif draft.layout[_CABLE]["ends"] != [lead, end]:
        draft.put(f"{_CABLE}.ends", [lead, end], origin)
    if end == _END and _END not in draft.points:
        draft.points[_END] = {"name": "capped end of the profile lead"}

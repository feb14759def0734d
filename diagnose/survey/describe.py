"""From answers to an installation that starts from a layout: every value with where it comes from.

Pure: the same answers on the same layout give the same description. It must not ask, and must not write YAML.
"""

from __future__ import annotations

from typing import Any

from diagnose.basics.quantities import Span, format_span, parse_span
from diagnose.model.survey import Answer, Answers, Patch, Survey, SurveyField, Topic
from diagnose.model.surveyed import Surveyed, Value
from diagnose.survey.defaults import is_layouts_own
from diagnose.survey.draft import Draft
from diagnose.survey.fitted_loads import fit_loads
from diagnose.survey.layout import Parts, by_layout, key_of, targets
from diagnose.survey.profiles import set_profiles

__all__ = ["describe"]

#: what is shown of the parts that were not asked about
_LEFT = {
    "fuse": ("rating", "style", "breaks"),
    "cable": ("area", "length"),
    "charger": (
        "starts_above", "stops_below", "starts_above_with_ignition", "stops_below_with_ignition", "needs_at_output",
        "solar_limit", "full_power_to", "shuts_down_at",
    ),
    "alternator": ("voltage",),
    "battery": ("cranking_amps",),
    "relay": ("closes_above", "opens_below"),
    "supply": ("voltage", "rating"),
    "load": ("power", "resistance"),
    "panel": ("peak_voltage",),
}  # fmt: skip


def describe(survey: Survey, answers: Answers, title: str, layout: str, parts: Parts) -> Surveyed:
    """Return the installation that the answers describe.

    Parameters: `survey`; `answers` by field, settled; `title`; `layout`, the id of the layout they start from, and its
    `parts` as plain data.
    """
    draft = Draft(parts)
    hours: dict[str, float] = {}
    notes: list[str] = []
    for topic in survey.topics:
        for field in topic.fields:
            answer = answers.get(field.id)
            if answer is None:
                continue
            origin = _origin(field, survey, layout, parts, answers)
            _patch(draft, topic, field, answer, layout)
            if field.kind == "loads":
                hours, found = fit_loads(draft, answer, origin)
                notes += found
            elif field.kind == "profile":
                notes += set_profiles(draft, survey, answers, field, origin)
            elif isinstance(answer.value, str) and answer.value != "none":
                _set(draft, field, answer.value, origin, layout)
        draft.prune("leads nowhere any more")
    driving = answers.get("driving")
    hours_a_day = next(field for field in survey.fields() if field.id == "driving")
    place = answers.get("place")
    return Surveyed(
        title=title,
        layout=layout,
        place="" if place is None else survey.choices["places"][str(place.value)].says,
        points=draft.points,
        parts=draft.over,
        removed=draft.removed,
        left=_left(draft),
        load_hours=hours,
        driving=None if driving is None else Value(driving.value, _origin(hours_a_day, survey, layout, parts, answers)),
        notes=tuple(notes),
    )


def _origin(field: SurveyField, survey: Survey, layout: str, parts: Parts, answers: Answers) -> str:
    """Return in words where an answer comes from."""
    answer = answers[field.id]
    if answer.origin == "default":
        own = is_layouts_own(field, survey, layout, parts, answers)
        return "Enter: as in the layout" if own else "Enter: the usual"
    if answer.origin == "not_known":
        wide = field.not_known
        if wide is None or answer.value == "none":
            return "not known: as in the layout"
        source = "common practice" if wide.confidence == "common_practice" else wide.source.partition(":")[2].strip()
        because = f", {wide.why}" if wide.why else ""
        if wide.figures:
            return "not known (range of its chemistry)"
        return f"not known{because}" + (f" (range by {source})" if source and wide.range else "")
    same = not isinstance(answer.value, str) or answer.typed in ("", answer.value)
    return "answered" if same else f"answered: {answer.typed}"


def _patch(draft: Draft, topic: Topic, field: SurveyField, answer: Answer, layout: str) -> None:
    """Apply the first patch that an answer calls for; an answer that is the layout's own way calls for none."""
    own_way = not field.sets and answer.value == by_layout(field.default, layout)
    if own_way or not isinstance(answer.value, str):
        return
    for patch in topic.patches:
        if patch.field == field.id and _fits(patch, draft, answer.value, layout):
            draft.apply(patch, patch.why)
            return


def _fits(patch: Patch, draft: Draft, word: str, layout: str) -> bool:
    given = "given" in patch.words and word != "none"
    return (
        (given or word in patch.words)
        and (not patch.layouts or layout in patch.layouts)
        and (patch.when is None or key_of(draft.layout, patch.when) is not None)
        and (patch.unless is None or key_of(draft.layout, patch.unless) is None)
    )


def _set(draft: Draft, field: SurveyField, value: str, origin: str, layout: str) -> None:
    """Write an answer at its keys: the whole at each of them, or shared out as the layout shares it."""
    shares = targets(field, layout)
    parts = _shared(draft.layout, shares, value, field) if field.shared and len(shares) > 1 else [value] * len(shares)
    for share, part in zip(shares, parts, strict=True):
        said = origin if part == value else f"{origin}; its share of {value}, see for yourself"
        for key in share:
            draft.put(key, part, said)
    follows = field.also_sets
    if follows is not None and (not shares or value != key_of(draft.layout, shares[0][0])):
        span = parse_span(value, str(field.quantity))
        high = min(follows.high * span.high, 0.95 * span.low)
        wide = format_span(Span(follows.low * span.low, max(high, follows.low * span.low)), str(field.quantity), 3)
        draft.put(follows.key, wide, f"follows: {follows.low:g} to {follows.high:g} of {value}")


def _shared(layout: Parts, shares: tuple[tuple[str, ...], ...], value: str, field: SurveyField) -> list[str]:
    """Return a whole shared out in the proportions of the layout."""
    quantity = str(field.quantity)
    weights = [parse_span(key_of(layout, share[0]), quantity).mid for share in shares]
    whole = parse_span(value, quantity)
    spans = [Span(whole.low * weight / sum(weights), whole.high * weight / sum(weights)) for weight in weights]
    return [format_span(span, quantity, 4) for span in spans]


def _left(draft: Draft) -> dict[str, dict[str, Any]]:
    """Return the values that were neither asked nor changed."""
    found: dict[str, dict[str, Any]] = {}
    for name, part in draft.parts.items():
        if name not in draft.layout:
            continue
        written = draft.over.get(name, {})
        keys = [key for key in _LEFT.get(part["kind"], ()) if key in part and key not in written]
        if keys:
            found[name] = {key: part[key] for key in keys}
    return found

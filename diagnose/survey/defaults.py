"""What a question takes for Enter and for "don't know", on the layout that was chosen and after the answers so far.

What is not known becomes a range where one is written, else the layout's value stays; nothing is guessed here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from diagnose.basics.quantities import Span, format_span, parse_span
from diagnose.model.survey import Answer, Answers, LoadAnswer, Survey, SurveyField
from diagnose.survey.layout import Parts, by_layout, key_of, targets
from diagnose.survey.told_loads import AMPERES_AT

__all__ = ["Figures", "asked_fields", "default_answer", "is_layouts_own", "settled"]

#: name of a figure of the battery table -> its value [V]
Figures = Callable[[str], float]


def asked_fields(fields: tuple[SurveyField, ...], layout: str, parts: Parts, answers: Answers) -> list[SurveyField]:
    """Return the fields that make sense on a layout, after the answers so far; `none` only where it can be meant."""
    return [
        field.model_copy(update={"none": None}) if layout in field.never_none else field
        for field in fields
        if _asked(field, layout, parts, answers)
    ]


def default_answer(
    field: SurveyField, survey: Survey, layout: str, parts: Parts, answers: Answers, figures: Figures
) -> Answer:
    """Return what Enter takes.

    Parameters: `field`; `layout` and its `parts`; `answers` so far; `figures` of the battery table.
    """
    return Answer(_default(field, survey, layout, parts, answers, figures), "default")


def settled(
    answer: Answer, field: SurveyField, survey: Survey, layout: str, parts: Parts, answers: Answers, figures: Figures
) -> Answer:
    """Return an answer with what "don't know" becomes, other answers as they are."""
    if answer.origin != "not_known":
        return answer
    wide = field.not_known
    default = _default(field, survey, layout, parts, answers, figures)
    if default == "none" and not answer.typed:
        return answer._replace(value=default)  # the layout has none, and nothing was said of one
    if wide is not None and wide.range is not None:
        return answer._replace(value=wide.range)
    if wide is not None and wide.choice is not None:
        return answer._replace(value=wide.choice)
    if wide is not None and wide.figures is not None:
        low, high = (figures(f"{name}_{_chemistry(field, parts, answers)}") for name in wide.figures)
        return answer._replace(value=format_span(Span(low, high), str(field.quantity)))
    return answer._replace(value=default)


def is_layouts_own(field: SurveyField, survey: Survey, layout: str, parts: Parts, answers: Answers) -> bool:
    """Return whether the answer to a field is what the layout says there, and not what is usual elsewhere."""
    answer = answers[field.id]
    if field.kind == "profile":
        name = survey.choices["chemistries"][_chemistry(field, parts, answers)].profile
        profiles = key_of(parts, "charger.profiles") or ()
        return any(profile["name"] == name and profile["voltage"] == answer.value for profile in profiles)
    if field.present is not None or field.kind in ("ties", "loads"):
        return True
    return bool(targets(field, layout)) and _layout_value(field, layout, parts) == answer.value


def _asked(field: SurveyField, layout: str, parts: Parts, answers: Answers) -> bool:
    if layout in field.not_in or (field.needs is not None and key_of(parts, field.needs) is None):
        return False
    if field.only_with is not None and field.only_with in answers and answers[field.only_with].value == "none":
        return False
    keys = [key for share in targets(field, layout) for key in share]
    return field.needs is not None or all(key.partition(".")[0] in parts for key in keys)


def _default(
    field: SurveyField, survey: Survey, layout: str, parts: Parts, answers: Answers, figures: Figures
) -> str | tuple[LoadAnswer, ...]:
    if field.kind == "loads":
        return tuple(_layout_load(name, part) for name, part in parts.items() if part["kind"] == "load")
    if field.present is not None:
        return "yes" if key_of(parts, field.present) is not None else "no"
    if field.kind == "profile":
        return _charge_voltage(field, survey, parts, answers, figures)
    own = _layout_value(field, layout, parts)
    if field.by is not None and own is not None:
        told, written = _chemistry(field, parts, answers), key_of(parts, "house_battery.chemistry")
        if told != written:
            own = f"{figures(f'{field.default_figures[-1]}_{told}'):g} V"
    if own is not None:
        return own
    if field.none is not None and layout not in field.never_none:
        return "none"
    return str(by_layout(field.default, layout))


def _layout_value(field: SurveyField, layout: str, parts: Parts) -> str | None:
    """Return what the layout has at the keys of a field: of several shares the sum."""
    shares = targets(field, layout)
    if not shares or field.kind == "profile":
        return None
    values = [key_of(parts, share[0]) for share in shares]
    if any(value is None for value in values):
        return None
    if not field.shared or len(values) == 1:
        return str(values[0])
    spans = [parse_span(value, str(field.quantity)) for value in values]
    whole = Span(sum(span.low for span in spans), sum(span.high for span in spans))
    return format_span(whole, str(field.quantity), 6)


def _layout_load(name: str, part: Mapping[str, Any]) -> LoadAnswer:
    """Return a load of the layout as one would tell it; a resistance as its watts at the nominal voltage."""
    power = part.get("power")
    if power is None:
        ohms = parse_span(part["resistance"], "resistance")
        power = format_span(Span(AMPERES_AT**2 / ohms.high, AMPERES_AT**2 / ohms.low), "power", 3)
    return LoadAnswer(str(part.get("name", name)).replace("_", " "), power, None)


def _chemistry(field: SurveyField, parts: Parts, answers: Answers) -> str:
    """Return the chemistry a field goes by: as answered, else the layout's."""
    answer = answers.get(str(field.by))
    if answer is not None and isinstance(answer.value, str) and answer.value:
        return answer.value
    return str(key_of(parts, "house_battery.chemistry"))


def _charge_voltage(field: SurveyField, survey: Survey, parts: Parts, answers: Answers, figures: Figures) -> str:
    """Return the charge voltage that suits the chemistry: the layout's profile for it, else the middle of its band."""
    chemistry = _chemistry(field, parts, answers)
    name = survey.choices["chemistries"][chemistry].profile
    voltage = next((p["voltage"] for p in key_of(parts, "charger.profiles") or () if p["name"] == name), None)
    if voltage is None:
        low, high = (figures(f"{figure}_{chemistry}") for figure in field.default_figures)
        voltage = f"{round((low + high) / 2, 1):g} V"
    most = answers.get("max_charge")
    if most is not None and isinstance(most.value, str) and most.value:
        top = parse_span(most.value, "voltage").low
        if parse_span(voltage, "voltage").high > top:
            voltage = f"{top:g} V"
    return str(voltage)
